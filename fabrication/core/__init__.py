"""Pure arithmetic of the workshop: numbers in, numbers out, the standard library only.

Units, axes, sign conventions and sources are in the README beside this file.
"""
