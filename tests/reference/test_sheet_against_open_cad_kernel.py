"""Flat patterns against an open CAD kernel: Open CASCADE, through the package cadquery-ocp-novtk.

The kernel is given the outer corners of a bent strip, as somebody would measure them with a
square, and the radii. It fillets and offsets by itself. With the neutral fibre in the middle the
area of the section over the thickness is the developed length; for another fibre the kernel
offsets a wire by that much. None of the lengths compared with went through our formulas.
"""

import math
import random
from itertools import pairwise

import pytest
from OCP.BRepAdaptor import BRepAdaptor_CompCurve, BRepAdaptor_Curve
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepGProp import BRepGProp
from OCP.ChFi2d import ChFi2d_FilletAPI
from OCP.collections import List_TopoDS_Shape
from OCP.GC import GC_MakeArcOfCircle
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS_Edge

from fabrication.core.drawing import Arc, Line
from fabrication.core.flat_pattern import Fold, Way, flat_pattern
from fabrication.core.formed import formed, section_edges
from fabrication.core.outline import Corner, rounded
from fabrication.core.saddle import Strap, closed_clip, two_ear_saddle

PARTS = 60
NEAR_MM = 1e-9
NEAR_AREA = 1e-10
PLANE = gp_Pln(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))

Point = tuple[float, float]


def random_part(number: int) -> tuple[list[float], list[Fold], float]:
    """Lengths, folds and thickness; the same number always gives the same part."""
    choose = random.Random(f"sheet {number}")
    thickness_mm = choose.uniform(0.5, 4)
    folds = [
        Fold(
            choose.uniform(10, 145),
            choose.uniform(0.5, 8),
            choose.uniform(0.25, 0.5),
            choose.choice((Way.UP, Way.DOWN)),
        )
        for _ in range(choose.randint(1, 6))
    ]
    takes = [math.tan(math.radians(f.angle_deg / 2)) * (f.radius_mm + thickness_mm) for f in folds]
    takes = [0.0, *takes, 0.0]
    lengths = [a + b + choose.uniform(3, 60) for a, b in pairwise(takes)]
    return lengths, folds, thickness_mm


def fibre_corners(
    lengths: list[float], folds: list[Fold], thickness_mm: float, depth_ratio: float
) -> list[Point]:
    """The corners of the polygon on a face of the sheet, from the lengths over the outside.

    ``depth_ratio`` is 0 for the back and 1 for the front. A bend that turns up has its outside
    corner on the back; on the other face the corner lies nearer by t tan(a/2).
    """
    at, heading = (0.0, depth_ratio * thickness_mm), 0.0
    corners = [at]
    shifts = []
    for fold in folds:
        half = math.tan(math.radians(fold.angle_deg / 2))
        inside = 1.0 if fold.way is Way.UP else -1.0
        outer = 0.0 if fold.way is Way.UP else 1.0
        shifts.append(inside * (depth_ratio - outer) * thickness_mm * half)
    shifts = [0.0, *shifts, 0.0]
    for number, length in enumerate(lengths):
        run = length - shifts[number] - shifts[number + 1]
        at = at[0] + run * math.cos(heading), at[1] + run * math.sin(heading)
        corners.append(at)
        if number < len(folds):
            sign = 1 if folds[number].way is Way.UP else -1
            heading += sign * math.radians(folds[number].angle_deg)
    return corners


def filleted(corners: list[Point], radii: list[float]) -> list[TopoDS_Edge]:
    """Edges and arcs through corners, filleted by the kernel."""
    points = [gp_Pnt(x, y, 0) for x, y in corners]
    legs = [BRepBuilderAPI_MakeEdge(a, b).Edge() for a, b in pairwise(points)]
    edges = []
    for number, radius in enumerate(radii):
        fillet = ChFi2d_FilletAPI(legs[number], legs[number + 1], PLANE)
        assert fillet.Perform(radius)
        arc = fillet.Result(points[number + 1], legs[number], legs[number + 1])
        edges += [legs[number], arc]
    return [*edges, legs[len(radii)]]


def length_of(edge: TopoDS_Edge) -> float:
    return float(GCPnts_AbscissaPoint.Length_s(BRepAdaptor_Curve(edge)))


def face_edges(number: int, depth_ratio: float) -> list[TopoDS_Edge]:
    """One face of a part, or a fibre in its depth, as the kernel rounds it."""
    lengths, folds, thickness_mm = random_part(number)
    radii = [
        fold.radius_mm + thickness_mm * ((1 - depth_ratio) if fold.way is Way.UP else depth_ratio)
        for fold in folds
    ]
    return filleted(fibre_corners(lengths, folds, thickness_mm, depth_ratio), radii)


def test_flats_and_lengths_agree_with_the_filleted_back_face() -> None:
    """Every straight of the kernel's own back face is a flat of ours, whichever way bends turn."""
    for number in range(PARTS):
        lengths, folds, thickness_mm = random_part(number)
        ours = flat_pattern(lengths_mm=lengths, folds=folds, thickness_mm=thickness_mm)

        theirs = [length_of(edge) for edge in face_edges(number, 0.0)[::2]]

        flats = [flat.length_mm for flat in ours.flats]
        assert flats == pytest.approx(theirs, abs=NEAR_MM)


def test_developed_length_is_that_of_the_middle_fibre() -> None:
    for number in range(PARTS):
        lengths, folds, thickness_mm = random_part(number)
        middle = [Fold(f.angle_deg, f.radius_mm, 0.5, f.way) for f in folds]

        ours = flat_pattern(lengths_mm=lengths, folds=middle, thickness_mm=thickness_mm)

        wire = BRepBuilderAPI_MakeWire()
        for edge in face_edges(number, 0.5):
            wire.Add(edge)
        theirs = GCPnts_AbscissaPoint.Length_s(BRepAdaptor_CompCurve(wire.Wire()))
        assert ours.total_mm == pytest.approx(theirs, abs=NEAR_MM)


def test_bend_allowance_is_the_fillet_at_the_neutral_depth() -> None:
    """The fibre at K from the inside has its own corner; the kernel's fillet there is as long."""
    for number in range(PARTS):
        lengths, folds, thickness_mm = random_part(number)
        ours = flat_pattern(lengths_mm=lengths, folds=folds, thickness_mm=thickness_mm)
        for zone, fold in zip(ours.zones, folds, strict=True):
            corners = [(-500.0, 0.0), (0.0, 0.0), _leg(fold.angle_deg, 500.0)]

            arc = filleted(corners, [fold.radius_mm + fold.k_ratio * thickness_mm])[1]

            assert zone.allowance_mm == pytest.approx(length_of(arc), abs=NEAR_MM)


def _leg(angle_deg: float, length: float) -> Point:
    return length * math.cos(math.radians(angle_deg)), length * math.sin(math.radians(angle_deg))


def kernel_edge(edge: Line | Arc) -> TopoDS_Edge:
    """A line or arc of ours built in the kernel, an arc from three points on it."""
    if isinstance(edge, Line):
        return BRepBuilderAPI_MakeEdge(*(gp_Pnt(x, y, 0) for x, y in edge.corners)).Edge()
    places = [edge.start_deg, (edge.start_deg + edge.end_deg) / 2, edge.end_deg]
    curve = GC_MakeArcOfCircle(*(gp_Pnt(*edge.at(angle), 0) for angle in places)).Value()
    return BRepBuilderAPI_MakeEdge(curve).Edge()


def area_within(edges: tuple[Line | Arc, ...]) -> float:
    """What the kernel finds inside edges that it joins at their ends by itself."""
    unordered = List_TopoDS_Shape()
    for edge in edges:
        unordered.Append(kernel_edge(edge))
    wire = BRepBuilderAPI_MakeWire()
    wire.Add(unordered)
    assert wire.IsDone()
    properties = GProp_GProps()
    BRepGProp.SurfaceProperties_s(BRepBuilderAPI_MakeFace(PLANE, wire.Wire()).Face(), properties)
    return abs(float(properties.Mass()))


def test_section_of_the_folded_part_is_closed_and_as_large_as_its_middle_fibre_is_long() -> None:
    """Area is length of the middle fibre times thickness: the kernel joins and measures it."""
    for number in range(PARTS):
        lengths, folds, thickness_mm = random_part(number)
        shallow = [Fold(min(f.angle_deg, 50), f.radius_mm, 0.5, f.way) for f in folds]
        zigzag = [
            Fold(f.angle_deg, f.radius_mm, 0.5, Way.UP if n % 2 else Way.DOWN)
            for n, f in enumerate(shallow)
        ]
        ours = flat_pattern(lengths_mm=lengths, folds=zigzag, thickness_mm=thickness_mm)

        theirs = area_within(section_edges(formed(ours)))

        assert ours.total_mm * thickness_mm == pytest.approx(theirs, rel=NEAR_AREA)


def test_the_far_end_of_the_folded_part_is_where_the_kernels_back_face_ends() -> None:
    for number in range(PARTS):
        lengths, folds, thickness_mm = random_part(number)
        ours = flat_pattern(lengths_mm=lengths, folds=folds, thickness_mm=thickness_mm)
        end = formed(ours).at(ours.total_mm).back

        theirs = fibre_corners(lengths, folds, thickness_mm, 0.0)[-1]

        assert math.dist(end, theirs) < NEAR_MM


@pytest.mark.parametrize("height_mm", [12.5, 11.0, 6.0, 3.0, 0.0, -2.0])
def test_two_ear_saddle_meets_its_pipe_and_its_face(height_mm: float) -> None:
    """Middle fibre throughout: the kernel's area of the section over the thickness is the blank.

    The ears lie flat on the face that the height is measured from, the crown round the pipe.
    """
    strap = Strap(22, 1.5, 2, 3, 20)
    saddle = two_ear_saddle(strap=strap, height_mm=height_mm, wrap_k_ratio=0.5, ear_k_ratio=0.5)
    folded = formed(saddle.pattern)

    theirs = area_within(section_edges(folded)) / strap.thickness_mm

    assert saddle.total_mm == pytest.approx(theirs, abs=1e-8)
    first, last = folded.at(0.0), folded.at(saddle.total_mm)
    assert last.heading_deg == pytest.approx(first.heading_deg, abs=1e-9)
    assert last.front[1] == pytest.approx(first.front[1], abs=1e-9)


@pytest.mark.parametrize("pipe_od_mm", [4.75, 8.0, 15.0, 28.0])
def test_closed_clip_brings_its_ears_face_to_face(pipe_od_mm: float) -> None:
    """Geometry alone: folded up, the inner faces of the ears must meet and look at each other."""
    strap = Strap(pipe_od_mm, 1.5, 1.2, 2, 18)
    clip = closed_clip(strap=strap, wrap_k_ratio=0.5, ear_k_ratio=0.5)
    folded = formed(clip.pattern)

    first, last = folded.at(0.0), folded.at(clip.total_mm)

    assert last.heading_deg - first.heading_deg == pytest.approx(180, abs=1e-9)
    assert math.dist(first.front, last.front) == pytest.approx(0, abs=1e-9)


def test_rounded_outlines_have_the_kernels_area() -> None:
    for number in range(PARTS):
        choose = random.Random(f"outline {number}")
        count = choose.randint(3, 9)
        corners = [
            Corner(
                choose.uniform(40, 80) * math.cos(2 * math.pi * n / count),
                choose.uniform(40, 80) * math.sin(2 * math.pi * n / count),
                choose.choice((0.0, choose.uniform(0.5, 4))),
            )
            for n in range(count)
        ]

        ours = rounded(corners)

        assert ours.area_mm2 == pytest.approx(area_within(ours.edges), rel=NEAR_AREA)
