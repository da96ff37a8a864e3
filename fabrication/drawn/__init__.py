"""Drawings: three views for page and paper, the view in space, and both in words."""
