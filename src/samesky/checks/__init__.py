"""Is anything wrong, or doubtful, that only the whole campaign can show?

In: a campaign that was read. Out: findings. Changes nothing and leaves nothing out.
"""
