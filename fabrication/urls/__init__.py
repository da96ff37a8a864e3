"""Addresses of the fabrication room, one list a noun."""

from fabrication.urls import bending, bonds, brackets, cures, papers, pipes, tools

urlpatterns = [
    *pipes.urlpatterns,
    *bending.urlpatterns,
    *papers.urlpatterns,
    *tools.urlpatterns,
    *brackets.urlpatterns,
    *bonds.urlpatterns,
    *cures.urlpatterns,
]
