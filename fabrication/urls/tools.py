from django.urls import path

from fabrication.views import beads, practice, tools

urlpatterns = [
    path("tools/", tools.bench_tools, name="bench_tools"),
    path("tools/new/", tools.tool_new, name="tool_new"),
    path("tools/<int:pk>/", tools.tool, name="tool"),
    path("tools/<int:pk>/change/", tools.tool_change, name="tool_change"),
    path("tools/<int:pk>/job-off/", tools.tool_job_off, name="tool_job_off"),
    path("formers/", tools.formers, name="formers"),
    path("formers/new/", tools.former_new, name="former_new"),
    path("formers/<int:pk>/", tools.former, name="former"),
    path("formers/<int:pk>/change/", tools.former_change, name="former_change"),
    path("formers/<int:pk>/practice/", practice.practice_new, name="practice_new"),
    path(
        "formers/<int:pk>/measured/<int:stock_pk>/",
        practice.former_measured,
        name="former_measured",
    ),
    path("formers/<int:pk>/put-back/", practice.former_put_back, name="former_put_back"),
    path("practice/<int:pk>/out/", practice.practice_out, name="practice_out"),
    path("practice/<int:pk>/back/", practice.practice_back, name="practice_back"),
    path("bead-tools/new/", beads.bead_tool_new, name="bead_tool_new"),
    path("bead-tools/<int:pk>/", beads.bead_tool, name="bead_tool"),
    path("bead-tools/<int:pk>/change/", beads.bead_tool_change, name="bead_tool_change"),
    path("bead-tools/<int:pk>/test/", beads.bead_test_new, name="bead_test_new"),
    path("bead-tests/<int:pk>/out/", beads.bead_test_out, name="bead_test_out"),
    path("bead-tests/<int:pk>/back/", beads.bead_test_back, name="bead_test_back"),
    path("tube/", tools.tube_stock, name="tube_stock"),
    path("tube/new/", tools.tube_stock_new, name="tube_stock_new"),
    path("tube/<int:pk>/", tools.tube_stock_change, name="tube_stock_change"),
]
