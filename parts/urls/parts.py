from django.urls import path

from parts.views import parts, photos, takeoff

urlpatterns = [
    # parts/
    path("parts/", parts.parts, name="parts"),
    path("parts/counts/", parts.counts, name="parts_counts"),
    path("parts/thrown-out/", parts.thrown_out, name="parts_thrown_out"),
    path("parts/<str:tag>/", parts.part, name="part"),
    path("parts/<str:tag>/change/", parts.change, name="part_change"),
    path("parts/<str:tag>/clash/<int:pk>/", parts.clash, name="part_clash"),
    path("parts/<str:tag>/pieces/", parts.add_piece, name="piece_add"),
    path("parts/<str:tag>/questions/", parts.questions, name="part_questions"),
    path("parts/<str:tag>/throw-out/", parts.throw_out, name="part_throw_out"),
    path("parts/<str:tag>/bring-back/", parts.bring_back, name="part_bring_back"),
    path("parts/<str:tag>/photos/", photos.part_photos, name="part_photos"),
    path("part-photos/<int:pk>/", photos.part_photo, name="part_photo"),
    # take-off/
    path("take-off/", takeoff.take_off, name="take_off"),
    path("take-off/<str:tag>/", takeoff.take_off_listed, name="take_off_listed"),
    # pieces/
    path("pieces/<int:pk>/move/", parts.move, name="piece_move"),
    path("pieces/<int:pk>/join/", parts.join, name="piece_join"),
]
