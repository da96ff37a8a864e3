from django.urls import path

from parts.views import fitness, heat_tables, joints

urlpatterns = [
    # fit to send?
    path("pieces/<int:pk>/asked/", fitness.piece_questions, name="piece_questions"),
    path("out/<int:number>/ask/", fitness.dropoff_ask, name="dropoff_ask"),
    path("lines/<int:pk>/anyway/", fitness.line_anyway, name="line_anyway"),
    # joints/
    path("pieces/<int:pk>/joints/new/", joints.joint_new, name="joint_new"),
    path("joints/<int:pk>/hard/", joints.joint_hard, name="joint_hard"),
    path("joints/<int:pk>/apart/", joints.joint_apart, name="joint_apart"),
    # heat/
    path("heat/", heat_tables.heat_tables, name="heat_tables"),
    path("heat/adhesives/new/", heat_tables.adhesive_new, name="adhesive_new"),
    path("heat/adhesives/<int:pk>/", heat_tables.adhesive, name="adhesive"),
    path("heat/alloys/new/", heat_tables.alloy_new, name="alloy_new"),
    path("heat/alloys/<int:pk>/", heat_tables.alloy, name="alloy"),
    path("heat/limits/new/", heat_tables.limit_new, name="limit_new"),
    path("heat/limits/<int:pk>/", heat_tables.limit, name="limit"),
]
