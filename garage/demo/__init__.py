"""Demo data: an invented car, its papers and its drawn garage photos."""
