"""What do several campaigns say together?

Folders of campaigns come in: one's own, or those of other pilots and aeroplanes. Out go differences pooled over the
campaigns that asked the same question, what to expect of one's own aeroplane, and the scatter of one's own repeats.
"""
