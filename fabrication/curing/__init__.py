"""Bonds and coats, and the clocks that say when they may be touched, heated and loaded."""
