from django.urls import path

from parts.views import finishers

urlpatterns = [
    # finishers/
    path("finishers/", finishers.finishers, name="finishers"),
    path("finishers/new/", finishers.new, name="finisher_new"),
    path("finishers/<int:pk>/", finishers.finisher, name="finisher"),
    path("finishers/<int:pk>/change/", finishers.change, name="finisher_change"),
]
