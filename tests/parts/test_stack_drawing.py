"""The drawing of a stack: true sizes, right order, one ink, readable without seeing it.

Sizes come from the product standards named beside each check; ISO 4014, ISO 4032 and ISO 7089 are
quoted from memory.
"""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from parts import threads
from parts.models import StackItem
from parts.stack_drawing import draw
from parts.stack_pile import across_corners_mm, pile, sizes_mm

What = StackItem.What
SVG = "{http://www.w3.org/2000/svg}"


def thing(what: str, thread: str = "", length_mm: float | None = None, **fields: str) -> StackItem:
    typed = f"{length_mm} mm" if length_mm else ""
    return StackItem(what=what, thread=thread, length_mm=length_mm, length_typed=typed, **fields)


def flange() -> list[StackItem]:
    return [
        thing(What.BOLT, "M8", 45.0),
        thing(What.PLAIN_WASHER),
        thing(What.THE_PART),
        thing(What.SPRING_WASHER),
        thing(What.NUT, "M8"),
    ]


def drawn(items: list[StackItem], **kwargs: object) -> ET.Element:
    sizes = kwargs.pop("sizes", [item.thread for item in items])
    svg = str(draw(items, title="Hole 1", sizes=sizes))
    return ET.fromstring(svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


@pytest.mark.parametrize(
    ("thread", "head", "nut", "across", "thick"),
    [("M6", 4.0, 5.2, 12.0, 1.6), ("M8", 5.3, 6.8, 16.0, 1.6), ("M10", 6.4, 8.4, 20.0, 2.0)],
)
def test_a_metric_joint_has_the_standard_sizes(
    thread: str, head: float, nut: float, across: float, thick: float
) -> None:
    """ISO 4014 k, ISO 4032 m max, ISO 7089 d2 and h (from memory)."""
    found = threads.find(thread)
    assert found

    assert sizes_mm(found.major_mm) == (head, nut, across, thick)


@pytest.mark.parametrize(("thread", "corners"), [("M6", 11.05), ("M8", 14.38), ("M12", 20.03)])
def test_a_hexagon_is_no_narrower_than_the_standard_over_its_corners(
    thread: str, corners: float
) -> None:
    """ISO 4014 e min, grade A (from memory); ours is a sharp hexagon, at most 5 % wider."""
    found = threads.find(thread)
    assert found

    assert corners <= across_corners_mm(thread=thread, diameter_mm=found.major_mm) <= 1.05 * corners


def test_a_size_between_two_rows_is_scaled() -> None:
    """5/16 in is 7.94 mm: within 1 % of M8."""
    assert sizes_mm(7.9375)[0] == pytest.approx(5.3 * 7.9375 / 8)


def test_things_stand_on_each_other_in_their_order() -> None:
    solids = pile(flange()).solids

    assert [solid.item.what for solid in solids] == [item.what for item in flange()]
    assert all(lower.top_mm == upper.bottom_mm for upper, lower in pairwise(solids))


def test_an_unmeasured_part_fills_what_the_bolt_leaves() -> None:
    """45 mm under the head less washer 1.6, spring washer 2.0, nut 6.8 and 2.4 out of the nut."""
    stood = pile(flange())

    assert stood.solids[2].height_mm == pytest.approx(45 - 1.6 - 2.0 - 6.8 - 2.4)
    assert stood.says == ("The part's thickness is not measured.",)


def test_a_measured_part_is_drawn_as_measured() -> None:
    items = flange()
    items[2].length_mm = 30.0

    assert pile(items).solids[2].height_mm == 30.0
    assert pile(items).says == ()


def test_a_bolt_that_ends_inside_the_nut_is_pointed_out() -> None:
    items = flange()
    items[2].length_mm = 40.0

    assert pile(items).says == ("By these lengths it does not reach through the nut. Check them.",)


def test_a_shim_is_as_thick_as_measured() -> None:
    items = [thing(What.BOLT, "M8", 20.0), thing(What.SHIM, "", 0.3), thing(What.THE_PART, "", 5.0)]

    assert pile(items).solids[1].height_mm == 0.3


def test_a_stack_without_a_thread_says_what_it_assumes() -> None:
    assert pile([thing(What.CLIP), thing(What.THE_PART, "", 2.0)]).says == (
        "No thread is known: drawn as 6 mm.",
    )


def test_an_empty_stack_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing"):
        pile([])


def test_height_and_width_share_one_scale() -> None:
    """A bolt twice as long under the same head is drawn in the same proportions."""
    svg = drawn([thing(What.BOLT, "M8", 45.0), thing(What.THE_PART, "", 45.0)])
    paths = svg.iter(f"{SVG}path")
    points = [
        (float(x), float(y))
        for x, y in re.findall(r"([\d.]+) ([\d.]+)", next(paths).get("d") or "")
    ]
    head = points[:4]

    wide, high = head[1][0] - head[0][0], head[2][1] - head[1][1]

    corners = across_corners_mm(thread="M8", diameter_mm=8.0)
    assert wide / high == pytest.approx(corners / 5.3, rel=0.02)


def test_the_drawing_reads_out_the_stack_in_order() -> None:
    svg = drawn(flange())

    assert svg.get("role") == "img"
    assert svg.get("aria-label") == (
        "Hole 1, from the head: bolt M8, plain washer, the part, spring washer, nut M8."
    )


def test_the_drawing_has_one_ink_and_no_style_attribute() -> None:
    svg = drawn(flange())

    inks = {node.get(name) for node in svg.iter() for name in ("fill", "stroke")} - {None}
    assert inks <= {"none", "currentColor"}
    assert not [node for node in svg.iter() if node.get("style")]


def test_every_thing_has_a_label_and_no_label_lies_on_another() -> None:
    items = [
        thing(What.BOLT, "M6", 20.0),
        *[thing(What.PLAIN_WASHER) for _ in range(8)],
        thing(What.NUT, "M6"),
    ]
    svg = drawn(items)

    lines = [float(text.get("y", 0)) for text in svg.iter(f"{SVG}text")]

    assert len(lines) == len(items) + 2
    assert all(low - high >= 17.9 for high, low in pairwise(lines))
    assert lines[-1] < float(svg.get("height", 0))


@pytest.mark.parametrize("what", What.values)
def test_every_kind_of_thing_can_be_drawn(what: str) -> None:
    svg = drawn([thing(What.BOLT, "M8", 25.0), thing(what), thing(What.NUT, "M8")])

    assert "nan" not in ET.tostring(svg, encoding="unicode")
    assert len(list(svg.iter(f"{SVG}circle"))) == 3


@pytest.mark.parametrize("head", ["hexagon", "countersunk", "pan", "cap", ""])
def test_heads_that_are_said_differ_are_drawn_differently(head: str) -> None:
    plain = draw([thing(What.SCREW, "M6", 20.0)], title="Hole 1", sizes=[""])
    said = draw([thing(What.SCREW, "M6", 20.0, head=head)], title="Hole 1", sizes=[""])

    assert (said == plain) is (head in ("", "hexagon"))


def test_words_typed_by_a_person_are_escaped() -> None:
    svg = draw([thing(What.BOLT, "<b>")], title="Hole <1>", sizes=["<b> & 5/16"])

    assert "<b>" not in svg
    assert "&lt;b&gt; &amp; " in svg
    assert '<tspan class="frac">5/16</tspan>' in svg
