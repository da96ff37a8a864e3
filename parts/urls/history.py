from django.urls import path

from parts.views import history

urlpatterns = [
    # history
    path("day-book/", history.day_book, name="day_book"),
    path("take-back/", history.take_back, name="take_back"),
]
