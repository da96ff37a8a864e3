from django.urls import path

from parts.views import corners

urlpatterns = [
    # corners/
    path("corners/", corners.corners, name="corners"),
    path("corners/new/", corners.corner_new, name="corner_new"),
    path("corners/<int:pk>/", corners.corner, name="corner"),
    path("corners/<int:pk>/pins/", corners.pin_new, name="pin_new"),
    path("pins/<int:pk>/", corners.pin, name="pin"),
]
