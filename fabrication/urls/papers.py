from django.urls import path

from fabrication.paper.papers import TITLES
from fabrication.views import cutting, fishmouth, papers, printers

urlpatterns = [
    path("pipes/<int:pk>/papers/", papers.pipe_papers, name="pipe_papers"),
    path("pipes/<int:pk>/bends.csv", papers.pipe_table, name="pipe_table"),
    *(
        path(
            f"pipes/<int:pk>/{drawing}.{kind}",
            papers.pipe_drawing,
            {"drawing": drawing, "kind": kind},
            name=f"pipe_{drawing}_{kind}",
        )
        for drawing in TITLES
        for kind in papers.KINDS
    ),
    path("printers/", printers.printers, name="printers"),
    path("printers/test.pdf", printers.printer_check, name="printer_check"),
    path("printers/<int:pk>/", printers.printer, name="printer"),
    path("printers/<int:pk>/usual/", printers.printer_usual, name="printer_usual"),
    path("fishmouth/", fishmouth.fishmouth, name="fishmouth"),
    *(
        path(
            f"fishmouth/fishmouth.{kind}",
            fishmouth.fishmouth_file,
            {"kind": kind},
            name=f"fishmouth_{kind}",
        )
        for kind in papers.KINDS
    ),
    path("tube/cutting/", cutting.cutting_plans, name="cutting_plans"),
    path("tube/<int:pk>/cutting/", cutting.tube_cutting, name="tube_cutting"),
    path("tube/<int:pk>/cutting.pdf", cutting.tube_cutting_pdf, name="tube_cutting_pdf"),
]
