from django.urls import path

from fabrication.views import coats, cures, feed

urlpatterns = [
    path("clocks/", cures.clocks, name="cures"),
    path("clocks/times.json", cures.cure_times, name="cure_times"),
    path("clocks/time/", cures.cure_time, name="cure_time"),
    path("clocks/calendar/", feed.cure_feed_renew, name="cure_feed_renew"),
    path("clocks/calendar/<uuid:key>/<str:token>.ics", feed.cure_feed, name="cure_feed"),
    path("clocks/<int:pk>/", cures.cure, name="cure"),
    path("clocks/<int:pk>/stop/", cures.cure_stop, name="cure_stop"),
    path("clocks/readings/<int:pk>/strike/", cures.cure_strike, name="cure_strike"),
    path("pieces/<int:pk>/coats/", coats.coats, name="coats"),
    path("coats/<int:pk>/", coats.coat, name="coat"),
]
