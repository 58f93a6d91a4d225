"""What is a campaign, once it is read?

Out: frozen classes in SI that every room above takes. Reads no file and judges nothing.
"""
