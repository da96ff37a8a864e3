from django.urls import path

from fabrication.views import pipes

urlpatterns = [
    path("pipes/", pipes.pipe_sheets, name="pipes"),
    path("pipes/new/", pipes.pipe_new, name="pipe_new"),
    path("pipes/work-out/", pipes.pipe_work_out, name="pipe_work_out"),
    path("pipes/<int:pk>/", pipes.pipe, name="pipe"),
    path("pipes/<int:pk>/sheet.pdf", pipes.pipe_sheet, name="pipe_sheet"),
]
