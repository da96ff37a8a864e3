from django.urls import path

from parts.views import plan

urlpatterns = [
    # plan/
    path("pieces/<int:pk>/judge/", plan.judge, name="piece_judge"),
    path("pieces/<int:pk>/steps/", plan.add_step, name="step_add"),
    path("steps/<int:pk>/", plan.step, name="step"),
    path("bench/", plan.bench, name="bench"),
]
