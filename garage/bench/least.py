"""The least that the same work could cost: what the bench measures against."""

import re
import zlib
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.template.loader import render_to_string
from django.urls import include, path

from garage import paper
from garage.bench import pipes
from garage.models import Garage, Person
from parts import sheets
from parts.models import DropOff, Piece

# The same columns out of the same tables, in a plain table, through the same middleware, without a
# frame, filters or stamps.
BARE = engines["django"].from_string(
    "<!doctype html><title>Parts</title><table>{% for p in pieces %}<tr id='p{{ p.pk }}'>"
    "<td>{{ p.part.tag }}</td><td><a href='{% url 'part' p.part.tag %}'>{{ p.part.name }}</a></td>"
    "<td>{{ p.part.makers_number }}</td><td>{{ p.place.path }}</td>"
    "<td>{{ p.get_status_display }}</td>"
    "<td>{{ p.next_step.get_kind_display }}</td><td>{{ p.quantity }}</td>"
    "<td><img src='{% url 'photo' p.cover.key 320 %}'></td></tr>{% endfor %}</table>"
)


def bare_list(request: HttpRequest) -> HttpResponse:
    """Thirty parts as a view without a design would show them."""
    pieces = Piece.objects.of(request.user.car).to_fit()
    rows = pieces.select_related("part", "place", "next_step", "cover").order_by("-part_id")[:30]
    return HttpResponse(BARE.render({"pieces": rows}, request))


urlpatterns = [
    path("bench-bare/", bare_list),
    path("bench-pipe/<int:pk>/", pipes.bare),
    path("", include("garage.urls")),
]


def pages_of(pdf: bytes) -> int:
    """How many pages a PDF of ours has, counted in its (compressed) objects."""
    texts = [pdf]
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            texts.append(zlib.decompress(stream))
        except zlib.error:
            continue  # a picture, packed another way
    return sum(len(re.findall(rb"/Type\s*/Page(?![s\w])", text)) for text in texts)


def empty_pages(pages: int) -> bytes:
    """The smallest PDF of so many pages: a word on each."""
    body = "".join(f"<p style='break-before: page'>{number}</p>" for number in range(pages))
    return paper.plain(f"<!doctype html><html lang=en><title>x</title><body>{body}</body></html>")


def undressed_sheet(batch: DropOff, *, by: Person, now: datetime) -> bytes:
    """The very same sheet, words, boxes and photos, with no stylesheet at all."""
    context, pictures = sheets.sheet_context(
        batch, garage=Garage.here(), count_url="http://localhost/count/1/", by=by, now=now
    )
    html = render_to_string("print/dropoff.html", {**context, "title": "x", "paper": "a4"})
    return paper.plain(html, pictures=pictures)


def bare_sheet(batch: DropOff) -> bytes:
    """The same words in a plain table: no design, photos, boxes or code."""
    lines = batch.lines.for_sheet()
    rows = "".join(
        f"<tr><td>{line.piece.tag}<td>{line.name}<td>{line.work_in_words}<td>{line.count}</tr>"
        for line in lines
    )
    style = "<style>table{table-layout:fixed;width:100%}</style>"
    head = f"<!doctype html><html lang=en><title>x</title>{style}"
    return paper.plain(f"{head}<body><h1>{batch}</h1><table>{rows}</table></body></html>")
