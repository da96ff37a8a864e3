"""A pipe to be made: what was typed, by any of three ways, and all that follows from it."""
