"""Measurements: what Splitpin costs, beside the least that the same work could cost."""
