"""Addresses of the parts room, one list a noun."""

from parts.urls import (
    corners,
    dropoffs,
    fasteners,
    finishers,
    heat,
    history,
    parts,
    places,
    plan,
    refit,
)

urlpatterns = [
    *parts.urlpatterns,
    *plan.urlpatterns,
    *places.urlpatterns,
    *history.urlpatterns,
    *fasteners.urlpatterns,
    *corners.urlpatterns,
    *finishers.urlpatterns,
    *dropoffs.urlpatterns,
    *refit.urlpatterns,
    *heat.urlpatterns,
]
