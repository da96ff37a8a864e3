"""Whether this garage can be trusted with more: the disk under it, its clock, what a check found.

``trouble`` reads errors of the disk and closes the garage for writing, ``clock`` notices a clock
that went backwards, ``condition`` keeps what the last checks found, ``warning`` is the one line on
every page that comes of them.
"""
