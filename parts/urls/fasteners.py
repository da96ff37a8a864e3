from django.urls import path

from parts.views import connections, fasteners

urlpatterns = [
    # holes
    path("parts/<str:tag>/holes/", fasteners.holes, name="holes"),
    path("parts/<str:tag>/holes/new/", fasteners.hole_new, name="hole_new"),
    path("holes/<int:pk>/", fasteners.hole, name="hole"),
    # connections
    path("parts/<str:tag>/connections/", connections.connections, name="connections"),
    path("parts/<str:tag>/connections/new/", connections.connection_new, name="connection_new"),
    path("connections/<int:pk>/", connections.connection, name="connection"),
]
