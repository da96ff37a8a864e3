"""What the access matrix needs of the fabrication room: argument providers, and their rows.

``BENCH`` names, for each route and argument, the row of ``build_bench`` to take it from.
"""

from typing import Any

from fabrication.paper.papers import TITLES
from garage.models import Car, Person
from parts.models import Part
from tests.fabrication.bending_rows import make_comparison, make_making, make_reading
from tests.fabrication.bond_rows import make_bond_rows
from tests.fabrication.bracket_rows import make_bracket_sheet
from tests.fabrication.paper_rows import make_printer
from tests.fabrication.pipe_rows import make_sheet
from tests.fabrication.tool_rows import (
    make_bead_test,
    make_bead_tool,
    make_practice_bend,
    make_tool,
)

# (routes, argument, name of the row, attribute of it)
BENCH: list[tuple[list[str], str, str, str]] = [
    (["pipe", "pipe_sheet", "pipe_throw_out"], "pk", "pipe", "pk"),
    (["pipe_bring_back"], "pk", "binned pipe", "pk"),
    (
        ["former", "former_change", "former_measured", "former_put_back", "practice_new"],
        "pk",
        "pipe",
        "former_id",
    ),
    (["former_measured"], "stock_pk", "pipe", "stock_id"),
    (["tube_stock_change"], "pk", "pipe", "stock_id"),
    (["practice_out", "practice_back"], "pk", "practice_bend", "pk"),
    (["bead_tool", "bead_tool_change", "bead_test_new"], "pk", "bead_tool", "pk"),
    (["bead_test_out", "bead_test_back"], "pk", "bead_test", "pk"),
    (["bend_pipe", "pipe_figures", "pipe_print", "compare_pipe"], "pk", "pipe", "pk"),
    (
        ["making", "making_step", "making_reading", "making_end"],
        "pk",
        "making",
        "pk",
    ),
    (["making_piece"], "pk", "made pipe", "pk"),
    (["reading_out"], "pk", "reading", "pk"),
    (["comparison", "comparison_out"], "pk", "comparison", "pk"),
    (["tool", "tool_change", "tool_job_off"], "pk", "tool", "pk"),
    (["bond", "bond_mix"], "pk", "bond", "pk"),
    (["bond_hard", "bond_part"], "pk", "mixed bond", "pk"),
    (["bond_new", "coats"], "pk", "bond", "piece_id"),
    (["cure", "cure_stop"], "pk", "clock", "pk"),
    (["cure_strike"], "pk", "temperature", "pk"),
    (["coat"], "pk", "coat", "pk"),
    (["cure_feed"], "key", "calendar", "key"),
    (["cure_feed"], "token", "calendar", "token"),
    (
        [
            "pipe_papers",
            "pipe_table",
            *(f"pipe_{drawing}_{kind}" for drawing in TITLES for kind in ("pdf", "svg", "dxf")),
        ],
        "pk",
        "pipe",
        "pk",
    ),
    (
        [
            "bracket",
            "bracket_papers",
            "bracket_pdf",
            "bracket_svg",
            "bracket_dxf",
            "bracket_throw_out",
        ],
        "pk",
        "bracket",
        "pk",
    ),
    (["bracket_bring_back"], "pk", "binned bracket", "pk"),
    (["sheet_stock_change", "test_strip_new"], "pk", "bracket", "stock_id"),
    (["printer", "printer_usual"], "pk", "printer", "pk"),
    (["tube_cutting", "tube_cutting_pdf"], "pk", "pipe", "stock_id"),
]


def build_bench(car: Car, part: Part, by: Person) -> dict[str, Any]:
    """The rows by name, made with the verbs that the pages use."""
    pipe = make_sheet(by=by, part=part)
    bead_tool = make_bead_tool(tube_od_least_mm=pipe.stock.od_mm)
    making = make_making(sheet=make_sheet(by=by, part=part), by=by)
    return {
        "pipe": pipe,
        "making": making,
        "made pipe": make_making(sheet=make_sheet(by=by, part=part), by=by, outcome="made"),
        "reading": make_reading(making),
        "comparison": make_comparison(making),
        "binned pipe": make_sheet(by=by, part=part, thrown_out=True),
        "practice_bend": make_practice_bend(pipe.former, pipe.stock),
        "bead_tool": bead_tool,
        "bead_test": make_bead_test(bead_tool, pipe.stock),
        "tool": make_tool(),
        "printer": make_printer(by=by),
        "bracket": make_bracket_sheet(by=by, part=part),
        "binned bracket": make_bracket_sheet(by=by, part=part, thrown_out=True),
        **make_bond_rows(car=car, by=by),
    }
