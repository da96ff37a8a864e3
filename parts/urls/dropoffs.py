from django.urls import path

from parts.views import countback, dropoffs, handover, lines

urlpatterns = [
    # out/
    path("out/", dropoffs.out, name="out"),
    path("out/new/", dropoffs.new, name="dropoff_new"),
    path("out/<int:number>/", dropoffs.dropoff, name="dropoff"),
    path("out/<int:number>/laid-out/", dropoffs.laid_out, name="dropoff_laid_out"),
    path("out/<int:number>/sheet.pdf", handover.sheet, name="dropoff_sheet"),
    path("out/<int:number>/hand-over/", handover.hand_over, name="dropoff_hand_over"),
    path("out/<int:number>/take-back/", handover.take_back, name="dropoff_take_back"),
    path("out/<int:number>/again/", handover.again, name="dropoff_again"),
    path("out/<int:number>/close/", handover.close, name="dropoff_close"),
    # lines/
    path("out/<int:number>/pieces/", lines.add_pieces, name="dropoff_pieces"),
    path("out/<int:number>/tag/", lines.add_by_tag, name="dropoff_tag"),
    path("out/<int:number>/lots/", lines.add_lot, name="dropoff_lots"),
    path("lines/<int:pk>/", lines.line, name="dropoff_line"),
    path("lines/<int:pk>/take-off/", lines.take_off, name="dropoff_line_off"),
    # count/
    path("out/<int:number>/collect/", countback.collect, name="dropoff_collect"),
    path("count/<int:number>/", countback.count, name="count"),
]
