"""Addresses of the fabrication room."""

from django.urls import path

from fabrication.views import pipes, tools

urlpatterns = [
    # pipes/
    path("pipes/", pipes.pipe_sheets, name="pipes"),
    path("pipes/new/", pipes.pipe_new, name="pipe_new"),
    path("pipes/work-out/", pipes.pipe_work_out, name="pipe_work_out"),
    path("pipes/<int:pk>/", pipes.pipe, name="pipe"),
    path("pipes/<int:pk>/sheet.pdf", pipes.pipe_sheet, name="pipe_sheet"),
    # formers/ and tube/
    path("formers/", tools.formers, name="formers"),
    path("formers/new/", tools.former_new, name="former_new"),
    path("formers/<int:pk>/", tools.former, name="former"),
    path("tube/", tools.tube_stock, name="tube_stock"),
    path("tube/new/", tools.tube_stock_new, name="tube_stock_new"),
]
