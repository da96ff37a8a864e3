from django.urls import path

from fabrication.views import brackets, sheet_stock

urlpatterns = [
    path("brackets/", brackets.bracket_sheets, name="brackets"),
    path("brackets/new/", brackets.bracket_new, name="bracket_new"),
    path("brackets/work-out/", brackets.bracket_work_out, name="bracket_work_out"),
    path("brackets/<int:pk>/", brackets.bracket, name="bracket"),
    path("brackets/<int:pk>/throw-out/", brackets.bracket_throw_out, name="bracket_throw_out"),
    path("brackets/<int:pk>/bring-back/", brackets.bracket_bring_back, name="bracket_bring_back"),
    path("brackets/<int:pk>/paper/", brackets.bracket_papers, name="bracket_papers"),
    path(
        "brackets/<int:pk>/sheet.pdf",
        brackets.bracket_drawing,
        {"kind": "pdf"},
        name="bracket_pdf",
    ),
    path(
        "brackets/<int:pk>/blank.svg",
        brackets.bracket_drawing,
        {"kind": "svg"},
        name="bracket_svg",
    ),
    path(
        "brackets/<int:pk>/blank.dxf",
        brackets.bracket_drawing,
        {"kind": "dxf"},
        name="bracket_dxf",
    ),
    path("sheet/", sheet_stock.sheet_stock, name="sheet_stock"),
    path("sheet/new/", sheet_stock.sheet_stock_new, name="sheet_stock_new"),
    path("sheet/choose/", sheet_stock.sheet_chooser, name="sheet_chooser"),
    path("sheet/<int:pk>/", sheet_stock.sheet_stock_change, name="sheet_stock_change"),
    path("sheet/<int:pk>/strip/", sheet_stock.strip_new, name="test_strip_new"),
]
