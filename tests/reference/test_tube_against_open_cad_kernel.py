"""Pipes against an open CAD kernel: Open CASCADE, through the package cadquery-ocp-novtk.

The kernel fillets a wire of straight edges on its own (it is given the corner points and the
radii, nothing of ours), and sweeps discs along it. From the edges it hands back we read lengths,
angles and axes; from the solid its volume. None of the numbers compared with went through
our formulas.
"""

import math
import random
from itertools import pairwise

import pytest
from OCP.BRepAdaptor import BRepAdaptor_CompCurve, BRepAdaptor_Curve
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakePipe
from OCP.ChFi2d import ChFi2d_FilletAPI
from OCP.GCPnts import GCPnts_AbscissaPoint
from OCP.gp import gp_Ax1, gp_Ax2, gp_Circ, gp_Dir, gp_Pln, gp_Pnt, gp_Trsf, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS_Edge

from fabrication.core.centre_line import pieces
from fabrication.core.table_forms import merged
from fabrication.core.tube_path import (
    BendRow,
    BendTable,
    bend_table,
    nodes_from_table,
    table_from_rows,
)
from fabrication.core.tube_section import metal_volume_mm3

SORTS = ("few bends", "many bends", "tight", "shallow", "steep", "planar", "nearly touching")
PIPES_OF_A_SORT = 50
OD_MM, WALL_MM = 12.0, 1.0
NEAR_MM = 1e-9
NEAR_DEG = 1e-9
NEAR_VOLUME_RATIO = 1e-9


class KernelPipe:
    """A pipe as the kernel builds it: straight edges, and the arcs it fillets between them."""

    def __init__(self, nodes: list[tuple[float, float, float]], radii: list[float]) -> None:
        points = [gp_Pnt(*node) for node in nodes]
        legs = [BRepBuilderAPI_MakeEdge(a, b).Edge() for a, b in pairwise(points)]
        self.arcs: list[TopoDS_Edge] = []
        for corner, radius in enumerate(radii, start=1):
            before, after = (
                gp_Vec(points[corner - 1], points[corner]),
                gp_Vec(points[corner], points[corner + 1]),
            )
            plane = gp_Pln(points[corner], gp_Dir(before.Crossed(after)))
            fillet = ChFi2d_FilletAPI(legs[corner - 1], legs[corner], plane)
            assert fillet.Perform(radius)
            self.arcs.append(fillet.Result(points[corner], legs[corner - 1], legs[corner]))
        self.legs = legs

    def wire(self) -> BRepBuilderAPI_MakeWire:
        wire = BRepBuilderAPI_MakeWire(self.legs[0])
        for arc, leg in zip(self.arcs, self.legs[1:], strict=True):
            wire.Add(arc)
            wire.Add(leg)
        assert wire.IsDone()
        return wire

    def straights_mm(self) -> list[float]:
        return [GCPnts_AbscissaPoint.Length_s(BRepAdaptor_Curve(leg)) for leg in self.legs]

    def angles_deg(self) -> list[float]:
        curves = [BRepAdaptor_Curve(arc) for arc in self.arcs]
        return [math.degrees(c.LastParameter() - c.FirstParameter()) for c in curves]

    def length_mm(self) -> float:
        return float(GCPnts_AbscissaPoint.Length_s(BRepAdaptor_CompCurve(self.wire().Wire())))

    def rotations_deg(self, nodes: list[tuple[float, float, float]]) -> list[float]:
        """Turn from each bend's axis to the next, signed by the kernel about the leg between."""
        axes = []
        for arc, start in zip(self.arcs, nodes, strict=False):
            circle = BRepAdaptor_Curve(arc).Circle()
            corner = nodes[nodes.index(start) + 1]
            ahead, inward = (
                gp_Vec(gp_Pnt(*start), gp_Pnt(*corner)),
                gp_Vec(gp_Pnt(*corner), circle.Location()),
            )
            axis = circle.Axis().Direction()
            axes.append(axis if ahead.Crossed(inward).Dot(gp_Vec(axis)) > 0 else axis.Reversed())
        return [
            math.degrees(a.AngleWithRef(b, gp_Dir(gp_Vec(gp_Pnt(*here), gp_Pnt(*there)))))
            for (a, b), (here, there) in zip(pairwise(axes), pairwise(nodes[1:]), strict=False)
        ]

    def volume_mm3(self, nodes: list[tuple[float, float, float]], radius_mm: float) -> float:
        start = gp_Pnt(*nodes[0])
        ahead = gp_Dir(gp_Vec(start, gp_Pnt(*nodes[1])))
        rim = BRepBuilderAPI_MakeEdge(gp_Circ(gp_Ax2(start, ahead), radius_mm)).Edge()
        disc = BRepBuilderAPI_MakeFace(BRepBuilderAPI_MakeWire(rim).Wire()).Face()
        properties = GProp_GProps()
        solid = BRepOffsetAPI_MakePipe(self.wire().Wire(), disc).Shape()
        BRepGProp.VolumeProperties_s(solid, properties, 1e-12)
        return abs(float(properties.Mass()))


def random_pipe(sort: str, number: int) -> BendTable:
    """Return a pipe of a sort; the same number always gives the same pipe."""
    choose = random.Random(f"{sort} {number}")
    bends = choose.randint(9, 12) if sort == "many bends" else choose.randint(1, 5)
    rows = []
    for bend in range(bends):
        angle = choose.uniform(8, 165)
        if sort == "shallow":
            angle = choose.uniform(0.3, 3)
        elif sort == "steep":
            angle = choose.uniform(165, 178.5)
        elif sort == "return bends":
            angle = choose.uniform(90, 300)
        twist = choose.uniform(-180, 180) if bend else 0.0
        if sort == "planar":
            twist = choose.choice((0.0, 180.0)) if bend else 0.0
        radius = OD_MM * choose.uniform(0.55, 0.9) if sort == "tight" else choose.uniform(14, 80)
        straight = choose.uniform(4, 250)
        if sort == "nearly touching" and bend:
            straight = choose.uniform(0.01, 0.1)
        rows.append(BendRow(straight, twist, angle, radius))
    return table_from_rows(rows=rows, last_straight_mm=choose.uniform(4, 250), od_mm=OD_MM)


Case = tuple[BendTable, list[tuple[float, float, float]], KernelPipe]


@pytest.fixture(scope="module", params=SORTS)
def cases(request: pytest.FixtureRequest) -> list[Case]:
    """Fifty pipes of one sort: the table of our nodes, those nodes, the kernel's own pipe."""
    made = []
    for number in range(PIPES_OF_A_SORT):
        typed = random_pipe(request.param, number)
        nodes = [(node.x, node.y, node.z) for node in nodes_from_table(typed)]
        radii = [bend.radius_mm for bend in typed.bends]
        made.append((bend_table(nodes_mm=nodes, radii_mm=radii), nodes, KernelPipe(nodes, radii)))
    return made


def test_straights_agree(cases: list[Case]) -> None:
    for table, _, pipe in cases:
        assert table.straights_mm == pytest.approx(pipe.straights_mm(), abs=NEAR_MM)


def test_bend_angles_agree(cases: list[Case]) -> None:
    for table, _, pipe in cases:
        ours = [bend.angle_deg for bend in table.bends]
        assert ours == pytest.approx(pipe.angles_deg(), abs=NEAR_DEG)


def test_twists_agree_in_size_and_sign(cases: list[Case]) -> None:
    for table, nodes, pipe in cases:
        theirs = pipe.rotations_deg(nodes)
        assert len(theirs) == len(table.bends) - 1
        for bend, wanted in zip(table.bends[1:], theirs, strict=True):
            assert abs(math.remainder(bend.rotation_deg - wanted, 360)) < NEAR_DEG


def test_developed_lengths_agree(cases: list[Case]) -> None:
    for table, _, pipe in cases:
        assert table.length_mm == pytest.approx(pipe.length_mm(), abs=NEAR_MM)


def test_volumes_of_the_swept_tube_agree(cases: list[Case]) -> None:
    for table, nodes, pipe in cases:
        bore_mm = OD_MM / 2 - WALL_MM
        theirs = pipe.volume_mm3(nodes, OD_MM / 2) - pipe.volume_mm3(nodes, bore_mm)
        ours = metal_volume_mm3(length_mm=table.length_mm, od_mm=OD_MM, wall_mm=WALL_MM)
        assert ours == pytest.approx(theirs, rel=NEAR_VOLUME_RATIO)


@pytest.mark.parametrize("sort", [*SORTS, "return bends"])
def test_a_straight_tube_bent_at_its_marks_and_clock_positions_ends_where_ours_does(
    sort: str,
) -> None:
    """The kernel bends a straight tube from the far end on, knowing only marks and clock.

    At each mark everything beyond is pulled back by the arc and turned about the former's
    axis, which stands at the bend's clock position. No frame is carried along the tube.
    """
    for number in range(PIPES_OF_A_SORT):
        table = random_pipe(sort, number)
        end = gp_Pnt(table.length_mm, 0, 0)
        for bend in reversed(table.bends):
            clock = math.radians(bend.clock_deg)
            inward = gp_Vec(0, math.cos(clock), math.sin(clock))
            axis = gp_Dir(gp_Vec(1, 0, 0).Crossed(inward))
            centre = gp_Pnt(bend.start_mm, 0, 0).Translated(inward * bend.radius_mm)
            turn = gp_Trsf()
            turn.SetRotation(gp_Ax1(centre, axis), math.radians(bend.angle_deg))
            end = end.Translated(gp_Vec(-bend.arc_mm, 0, 0)).Transformed(turn)

        ours = nodes_from_table(table)[-1]

        assert end.Distance(gp_Pnt(ours.x, ours.y, ours.z)) < NEAR_MM


def test_the_centre_line_in_pieces_is_the_kernels_wire() -> None:
    for number in range(PIPES_OF_A_SORT):
        table = random_pipe("few bends", number)
        nodes = [(node.x, node.y, node.z) for node in nodes_from_table(table)]
        wire = KernelPipe(nodes, [bend.radius_mm for bend in table.bends]).wire().Wire()
        for piece in pieces(table):
            middle = piece.frame_at(0.5).at
            point = BRepBuilderAPI_MakeVertex(gp_Pnt(middle.x, middle.y, middle.z)).Vertex()
            assert BRepExtrema_DistShapeShape(point, wire).Value() < NEAR_MM


def test_a_return_bend_is_the_two_touching_halves_of_its_corner_points() -> None:
    for number in range(PIPES_OF_A_SORT):
        typed = random_pipe("return bends", number)
        radii = []
        for bend in typed.bends:
            radii += [bend.radius_mm] * (1 if bend.angle_deg < 180 else 2)

        again = merged(bend_table(nodes_mm=nodes_from_table(typed), radii_mm=radii))

        assert again.straights_mm == pytest.approx(typed.straights_mm, abs=NEAR_MM)
        ours = [bend.angle_deg for bend in again.bends]
        assert ours == pytest.approx([bend.angle_deg for bend in typed.bends], abs=NEAR_DEG)
