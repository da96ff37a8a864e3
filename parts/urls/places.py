from django.urls import path

from parts.views import places

urlpatterns = [
    # places/
    path("places/", places.places, name="places"),
    path("places/<int:pk>/", places.place, name="place"),
    path("places/put/", places.put, name="place_put"),
]
