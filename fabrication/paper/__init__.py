"""What leaves the bench: sheets, templates at true size, files, cutting plans."""
