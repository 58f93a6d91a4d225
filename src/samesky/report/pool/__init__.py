"""How are several campaigns shown together? Words, figure, page and terminal of a pool.

A :class:`samesky.club.pool.Pool` comes in; a page, lines for the terminal and an object for machines go out.
"""
