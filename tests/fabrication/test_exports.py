"""What is written for other programs, read back by general libraries of others."""

import csv
import io
import math
from itertools import pairwise

import ezdxf
import pytest
from ezdxf import recover, units
from svgelements import SVG, Circle, Path, Polygon, Polyline, Shape, SimpleLine, Text

from fabrication.core.bend_template import bend_figure
from fabrication.core.drawing import PENS, Arc, Figure, Line
from fabrication.core.drawing import Circle as Round
from fabrication.core.drawing import Polyline as Fence
from fabrication.core.drawing import Text as Words
from fabrication.paper.exports import csv_of, dxf_of, svg_of

MM = 0.01
FIGURE = Figure(
    (
        Line((1.25, -3.5), (101.25, -3.5)),
        Arc((10, 20), 45, -90, 143.5, "bend"),
        Round((-12.5, 7.75), 3.25, "centre"),
        Fence(((0, 0), (30.125, 0), (30.125, 12.5)), closed=True, pen="dash"),
        Fence(((0, 0), (-5.5, 8)), pen="cut"),
        Words((4, -9), 'Ø 15 <b> & "A"', 3.5, 30.0),
    )
)


def read_svg(text: str) -> tuple[SVG, list[Shape]]:
    # One unit a millimetre: the size of the page is then that of its viewBox.
    document = SVG.parse(io.StringIO(text), ppi=25.4)
    return document, [one for one in document.elements() if isinstance(one, Shape | Text)]


def read_dxf(body: bytes) -> ezdxf.document.Drawing:
    document, auditor = recover.read(io.BytesIO(body))
    assert not auditor.has_errors
    return document


class TestSvg:
    def test_the_document_is_as_large_as_it_says_in_millimetres(self) -> None:
        text = svg_of(FIGURE, title="A bend")

        assert 'height="' in text and text.count("mm") == 2
        document, _ = read_svg(text)
        box = FIGURE.bounds
        assert document.width == pytest.approx(box.width_mm + 2, abs=MM)
        assert document.height == pytest.approx(box.height_mm + 2, abs=MM)
        assert document.viewbox.width == pytest.approx(box.width_mm + 2, abs=MM)

    def test_every_shape_comes_back_where_it_was(self) -> None:
        text = svg_of(FIGURE, title="A bend")
        document, shapes = read_svg(text)
        by_kind = {type(one): one for one in shapes}
        # The library lays the viewBox to (0, 0); y runs downward.
        left, top = document.viewbox.x, document.viewbox.y

        def at(point: object) -> tuple[float, float]:
            return point.x + left, -(point.y + top)

        line, path = by_kind[SimpleLine], by_kind[Path]
        start, end = (at(Path(line).point(share)) for share in (0, 1))
        assert (*start, *end) == pytest.approx((1.25, -3.5, 101.25, -3.5), abs=MM)

        on_arc = [at(path.point(share / 50)) for share in range(51)]
        radii = [math.dist((10, 20), point) for point in on_arc]
        assert radii == pytest.approx([45] * 51, abs=MM)
        assert on_arc[0] == pytest.approx((10, -25), abs=MM)
        ahead = math.radians(143.5)
        last = (10 + 45 * math.cos(ahead), 20 + 45 * math.sin(ahead))
        assert on_arc[-1] == pytest.approx(last, abs=MM)
        assert path.length() == pytest.approx(45 * math.radians(233.5), abs=MM)

        circle = by_kind[Circle]
        assert at(circle.implicit_center) == pytest.approx((-12.5, 7.75), abs=MM)
        assert circle.implicit_rx == pytest.approx(3.25, abs=MM)
        corners = [at(point) for point in by_kind[Polygon].points]
        assert corners[2] == pytest.approx((30.125, 12.5), abs=MM)
        assert at(by_kind[Polyline].points[1]) == pytest.approx((-5.5, 8), abs=MM)

    def test_words_come_back_letter_for_letter(self) -> None:
        _, shapes = read_svg(svg_of(FIGURE, title='<i>"&'))

        assert [one.text for one in shapes if isinstance(one, Text)] == ['Ø 15 <b> & "A"']


class TestDxf:
    def test_it_is_in_millimetres_with_a_layer_a_pen(self) -> None:
        document = read_dxf(dxf_of(FIGURE))

        assert document.units == units.MM
        assert set(PENS) <= {layer.dxf.name for layer in document.layers}
        assert document.layers.get("centre").dxf.linetype == "CENTER"

    def test_every_shape_comes_back_where_it_was(self) -> None:
        found = {one.dxftype(): one for one in read_dxf(dxf_of(FIGURE)).modelspace()}
        space = read_dxf(dxf_of(FIGURE)).modelspace()

        line, arc, circle, text = (found[kind].dxf for kind in ("LINE", "ARC", "CIRCLE", "TEXT"))
        assert tuple(line.start)[:2] == pytest.approx((1.25, -3.5), abs=MM)
        assert tuple(line.end)[:2] == pytest.approx((101.25, -3.5), abs=MM)
        assert (line.layer, arc.layer, circle.layer) == ("cut", "bend", "centre")
        assert (*tuple(arc.center)[:2], arc.radius) == pytest.approx((10, 20, 45), abs=MM)
        assert (arc.start_angle % 360, arc.end_angle) == pytest.approx((270, 143.5), abs=1e-6)
        assert (*tuple(circle.center)[:2], circle.radius) == pytest.approx((-12.5, 7.75, 3.25))
        closed, open_one = space.query("LWPOLYLINE")
        assert (closed.closed, open_one.closed) == (True, False)
        assert [p[:2] for p in closed.get_points()] == [(0, 0), (30.125, 0), (30.125, 12.5)]
        assert (text.text, text.height, text.rotation) == ('Ø 15 <b> & "A"', 3.5, 30.0)

    def test_a_bend_template_keeps_radius_and_leg_angle(self) -> None:
        figure = bend_figure(
            angle_deg=53.5, radius_mm=45, od_mm=15, leg_before_mm=80, leg_after_mm=70
        )

        space = read_dxf(dxf_of(figure)).modelspace()

        radii = sorted(arc.dxf.radius for arc in space.query('ARC[layer=="cut"]'))
        assert radii == pytest.approx([37.5, 52.5], abs=MM)
        (one, other) = (
            line
            for line in space.query('LINE[layer=="centre"]')
            if line.dxf.start.distance(line.dxf.end) > 60
        )
        between = (one.dxf.end - one.dxf.start).angle_between(other.dxf.end - other.dxf.start)
        assert 180 - math.degrees(between) == pytest.approx(53.5, abs=1e-6)


class TestCsv:
    def test_figures_come_back_and_words_stay_words(self) -> None:
        body = csv_of(("name", "mm"), [('a, "b"', 1 / 3), ("=1+1", -0.0), ("Ø", 12)])

        rows = list(csv.reader(io.StringIO(body.decode("utf-8-sig"))))

        assert rows == [["name", "mm"], ['a, "b"', "0.33333"], ["'=1+1", "0"], ["Ø", "12"]]

    def test_a_spreadsheet_is_told_the_letters(self) -> None:
        assert csv_of(("Ø",), []).startswith(b"\xef\xbb\xbf")


def test_an_arc_is_written_in_pieces_of_thirty_degrees_at_most() -> None:
    """One cubic curve over 180 degrees, as some programs draw it, is 1.8 % out."""
    _, (path,) = read_svg(svg_of(Figure((Arc((0, 0), 100, 0, 200),)), title="An arc"))

    turns = [abs(segment.sweep) for segment in path if hasattr(segment, "sweep")]

    assert len(turns) == 7
    assert max(turns) <= math.radians(30) + 1e-6
    assert all(a.end == b.start for a, b in pairwise(list(path)))
