from django.urls import path

from fabrication.views import bending, comparing

urlpatterns = [
    path("pipes/<int:pk>/bend/", bending.bend_pipe, name="bend_pipe"),
    path("pipes/<int:pk>/figures/", bending.pipe_figures, name="pipe_figures"),
    path("pipes/<int:pk>/print/", bending.pipe_print, name="pipe_print"),
    path("makings/<int:pk>/", bending.making, name="making"),
    path("makings/<int:pk>/step/", bending.making_step, name="making_step"),
    path("makings/<int:pk>/reading/", bending.making_reading, name="making_reading"),
    path("makings/<int:pk>/end/", bending.making_end, name="making_end"),
    path("makings/<int:pk>/piece/", bending.making_piece, name="making_piece"),
    path("readings/<int:pk>/out/", bending.reading_out, name="reading_out"),
    path("pipes/<int:pk>/compare/", comparing.compare_pipe, name="compare_pipe"),
    path("comparisons/<int:pk>/", comparing.comparison, name="comparison"),
    path("comparisons/<int:pk>/out/", comparing.comparison_out, name="comparison_out"),
]
