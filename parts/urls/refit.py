from django.urls import path

from parts.views import prepare, refit, reminders, requirements, snags

urlpatterns = [
    # refit/
    path("refit/", refit.refit, name="refit"),
    path("refit/<int:pk>/", refit.refit_piece, name="refit_piece"),
    path("refit/<int:pk>/fit/", refit.fit, name="fit"),
    path("refit/<int:pk>/slacken/", refit.slacken, name="slacken"),
    # prepare/ and trial fit
    path("pieces/<int:pk>/prepare/", prepare.prepare, name="prepare"),
    path("preparations/<int:pk>/", prepare.preparation, name="preparation"),
    path("pieces/<int:pk>/trial-fit/", prepare.trial_fit, name="trial_fit"),
    # requirements
    path("parts/<str:tag>/requirements/", requirements.requirements, name="requirements"),
    # snags/
    path("snags/", snags.snags, name="snags"),
    path("snags/new/", snags.new, name="snag_new"),
    path("snags/<int:pk>/", snags.snag, name="snag"),
    # reminders/
    path("reminders/", reminders.reminders, name="reminders"),
    path("reminders/new/", reminders.new, name="reminder_new"),
    path("reminders/<int:pk>/", reminders.reminder, name="reminder"),
]
