"""What hardens in the demo: a bond that has cured and was looked at, one mixed yesterday evening, a
coat put on today; and what the oven would do to the first."""

from datetime import datetime, time, timedelta
from typing import Any
from uuid import uuid4

from django.utils import timezone

from fabrication.curing import bonds, coats, cures
from fabrication.curing.bond_checks import CHECKS
from fabrication.models import Bond
from garage.demo.batches import say_no_but
from garage.demo.bench import RETURN
from garage.demo.story import Demo
from parts import heat_tables, lines
from parts.models import Adhesive, DropOff

RETURN_BRACKET = "Bracket, heater return pipe"
CABLE_CLIP, STARTER = "Starter cable clip", "Starter motor"
TRAY = "Battery tray"

# Days after mixing; the part then, and the lowest since the reading before. [C]
IN_THE_HOUSE = (
    (0.5, 21.0, 20.0),
    *((float(day), 21.5, 20.5 if day % 3 else 19.5) for day in range(1, 10)),
)


def glue_and_paint(demo: Demo) -> None:
    """Two bonds and two coats, in the order of their days, for a clock never goes back."""
    glue = heat_tables.add_row(
        model=Adhesive,
        key=uuid4(),
        values={
            "code": Adhesive.Code.STEEL_EPOXY,
            "name": "Pipe epoxy, steel-filled, two-part",
            "working_minutes": 45.0,
            "working_at_c": 21.0,
            "schedule": [{"temp_c": 21.0, "handling_h": 16.0, "full_h": 168.0}],
            "lower_limit_c": 10.0,
            "upper_cap_c": 60.0,
            "service_max_dry_c": 120.0,
            "service_max_wet_c": 110.0,
            "short_peak_c": 150.0,
            "short_peak_minutes": 30.0,
            "lap_shear_mpa": 18.0,
            "gap_max_mm": 3.0,
            "source": "Product sheet in the box",
        },
    )
    _cured(demo, glue)
    evening = _yesterday_evening(demo.now)
    bond = _bond(demo, CABLE_CLIP, STARTER, glue, evening - timedelta(hours=1), where="garage")
    clock = bonds.mix(bond=bond, key=uuid4(), temp_c=17.0, by=demo.ade, now=evening)
    _paint(demo)
    at = demo.now - timedelta(hours=1)
    cures.read(
        clock=clock,
        key=uuid4(),
        at=at,
        temp_c=14.5,
        lowest_before_c=12.0,
        by=demo.wren,
        now=at,
    )


def _cured(demo: Demo, glue: Adhesive) -> None:
    mixed_at = demo.ago(days=12)
    figures: dict[str, Any] = {
        "duty": "coolant",
        "where": "house",
        "wet": "wet",
        "od_mm": 22.0,
        "wrap_deg": 170.0,
        "width_mm": 25.0,
        "load_g": 140.0,
        "shake_ratio": 10.0,
        "arm_mm": 18.0,
        "gap_mm": 0.2,
        "service_c": 90.0,
    }
    bond = _bond(demo, RETURN_BRACKET, RETURN, glue, demo.ago(days=12.1), **figures)
    clock = bonds.mix(bond=bond, key=uuid4(), temp_c=20.0, by=demo.wren, now=mixed_at)
    at = mixed_at
    for days, temp_c, lowest_c in IN_THE_HOUSE:
        at = mixed_at + timedelta(days=days)
        cures.read(
            clock=clock,
            key=uuid4(),
            at=at,
            temp_c=temp_c,
            lowest_before_c=lowest_c,
            by=demo.ade,
            now=at,
        )
    bonds.call_hard(bond=bond, by=demo.wren, now=at + timedelta(minutes=10))


def _bond(demo: Demo, name: str, onto: str, glue: Adhesive, at: datetime, **figures: Any) -> Bond:
    values = {
        "onto": demo.piece(onto),
        "adhesive": glue,
        "is_only_fixing": False,
        "holds_safety": False,
        "found": Bond.Found.HAND,
        "checks": [code for code, _ in CHECKS],
        "wet": Bond.Wet.DRY,
        "trial_piece": "Two offcuts, same steel",
        "trial": Bond.Trial.HELD,
        "clamp_note": "Two spring clamps, baking paper under them",
        **figures,
    }
    return bonds.write_down(
        key=uuid4(), piece=demo.piece(name), values=values, by=demo.wren, now=at
    )


def _paint(demo: Demo) -> None:
    tray = demo.piece(TRAY)
    coat_of = {
        "has_isocyanate": False,
        "times": [{"temp_c": 20.0, "handling_h": 4.0, "full_h": 24.0}],
        "lower_limit_c": 10.0,
        "window_h": 72.0,
    }
    primer, _ = (
        coats.plan(
            key=uuid4(), piece=tray, values={"what": what, "product": name, **coat_of}, by=demo.wren
        )
        for what, name in (("primer", "Zinc phosphate primer"), ("colour", "Satin black, brushed"))
    )
    coats.put_on(
        coat=primer, key=uuid4(), temp_c=16.0, by=demo.wren, now=demo.now - timedelta(hours=3)
    )


def _yesterday_evening(now: datetime) -> datetime:
    """Half past seven, by the garage's clock."""
    today = timezone.localtime(now)
    evening = datetime.combine(today.date() - timedelta(days=1), time(19, 30), today.tzinfo)
    return evening


def ask_of_the_oven(demo: Demo) -> None:
    """The glued pipe on the sheet being built: powder coat would burn its glue, and the check
    holds it back."""
    pipe = demo.piece(RETURN)
    say_no_but(demo, pipe, glue="yes", coolant_pipe="yes")
    lines.add_pieces(
        dropoff=DropOff.objects.being_built().get(),
        pieces=[pipe],
        by=demo.wren,
        now=demo.ago(days=0.9),
    )
