"""Pure arithmetic of the workshop: numbers in, numbers out, the standard library only.

Units, axes, sign conventions and sources are in the README beside this file.
"""

VERSION = "1"
"""Goes up by one when the same input gives another number than before."""
