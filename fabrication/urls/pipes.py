from django.urls import path

from fabrication.views import pipes

urlpatterns = [
    path("pipes/", pipes.pipe_sheets, name="pipes"),
    path("pipes/new/", pipes.pipe_new, name="pipe_new"),
    path("pipes/work-out/", pipes.pipe_work_out, name="pipe_work_out"),
    path("pipes/<int:pk>/", pipes.pipe, name="pipe"),
    path("pipes/<int:pk>/sheet.pdf", pipes.pipe_sheet, name="pipe_sheet"),
    path("pipes/<int:pk>/throw-out/", pipes.pipe_throw_out, name="pipe_throw_out"),
    path("pipes/<int:pk>/bring-back/", pipes.pipe_bring_back, name="pipe_bring_back"),
]
