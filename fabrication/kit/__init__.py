"""Formers, bead tools, other tools and tube, and what practice on scrap says of them."""
