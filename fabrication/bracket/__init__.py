"""Brackets, clips and saddles: from flanges as typed to blank, template and strength."""
