"""The figures the garage's tables begin with, each with its source.

"Read" is a data sheet, table or standard in a public copy; "from memory" is what the trade knows
and nobody looked up; "ours" is a judgement. Where a source gives a range, the worse end stands.
The rows are written once, by the migration that makes the tables; after that they are the
garage's own to change.
"""

from typing import Any
from uuid import UUID, uuid5

_ROOT = UUID("5b0c3c0e-6a3f-4f0e-9a52-2f6f0a4c9d11")


def key_of(name: str) -> UUID:
    """The same key for the same seed in every garage."""
    return uuid5(_ROOT, name)


def _schedule(*rows: tuple[float, float | None, float | None]) -> list[dict[str, float | None]]:
    return [{"temp_c": t, "handling_h": handling, "full_h": full} for t, handling, full in rows]


_SHEETS = "Data sheets of this sort, read"
ADHESIVES: tuple[dict[str, Any], ...] = (
    {
        "code": "steel_epoxy",
        "name": "Steel-filled epoxy, slow (sort)",
        "working_minutes": 45,
        "working_at_c": 24,
        "schedule": _schedule((21, 16, None), (24, None, 168)),
        "lower_limit_c": 10,
        "upper_cap_c": 60,
        "service_max_dry_c": 120,
        "service_max_wet_c": 50,
        "lap_shear_mpa": 18.5,
        "gap_max_mm": 10,
        "source": f"{_SHEETS}: 45 min for 500 g at 24 °C, 16 h to functional, 7 days full."
        " Lower limit from memory; cap ours. Lap shear ASTM D1002.",
    },
    {
        "code": "general_epoxy",
        "name": "General epoxy, two-part (sort)",
        "working_minutes": 120,
        "working_at_c": 25,
        "schedule": _schedule(
            (20, 12, 15), (25, 7, 12), (40, 2, 3), (70, None, 50 / 60), (100, None, 10 / 60)
        ),
        "lower_limit_c": 10,
        "upper_cap_c": 60,
        "service_max_dry_c": 60,
        "lap_shear_mpa": 20,
        "gap_max_mm": 0.1,
        "source": f"{_SHEETS}: times and gap. Lower limit, service limit (60 to 80 °C) and lap"
        " shear from memory; cap ours.",
    },
    {
        "code": "fast_epoxy",
        "name": "Fast epoxy, “5 minute” (sort)",
        "working_minutes": 3,
        "working_at_c": 20,
        "schedule": _schedule((25, 0.5, 72)),
        "lower_limit_c": 10,
        "upper_cap_c": 60,
        "service_max_dry_c": 50,
        "lap_shear_mpa": 10,
        "gap_max_mm": 3,
        "source": f"{_SHEETS}: gel 3 to 6 min, full cure 24 to 72 h, poor in heat and water."
        " Handling, limits and lap shear from memory; cap ours.",
    },
    {
        "code": "acrylic",
        "name": "Toughened acrylic, structural (sort)",
        "working_minutes": 5,
        "working_at_c": 20,
        "schedule": _schedule((25, 20 / 60, 24)),
        "lower_limit_c": 10,
        "upper_cap_c": 60,
        "service_max_dry_c": 100,
        "lap_shear_mpa": 14,
        "gap_max_mm": 0.5,
        "source": f"{_SHEETS}: handling, lap shear on blasted steel, gap without mixing."
        " Working time by grade 3 min to 2 h. Full cure and limits from memory; cap ours.",
    },
    {
        "code": "anaerobic",
        "name": "Retaining compound, anaerobic (sort)",
        "schedule": _schedule((22, 0.5, 72)),
        "lower_limit_c": 5,
        "upper_cap_c": 60,
        "service_max_dry_c": 150,
        "lap_shear_mpa": 20,
        "gap_max_mm": 0.15,
        "source": f"{_SHEETS}: on steel; hours longer on zinc, aluminium and stainless. Strength"
        " is pin and collar, ISO 10123. Cap ours.",
    },
    {
        "code": "hot_epoxy",
        "name": "High-temperature epoxy (sort)",
        "working_minutes": 30,
        "working_at_c": 25,
        "schedule": _schedule((25, 24, None), (120, None, 2)),
        "lower_limit_c": 20,
        "upper_cap_c": 60,
        "service_max_dry_c": 200,
        "lap_shear_mpa": 15,
        "gap_max_mm": 3,
        "source": "Data sheets of this sort, read: lower limit, need of a post-cure. The rest from"
        " memory; without its post-cure it stands little more than the heat it cured at. Cap ours.",
    },
)

_SOLDERS = "Soldering alloy table (EN 29453, BS 219), read"
_SILVERS = "Silver alloy maker's table (ISO 17672 numbers), read"
_MEMORY = "From memory"
# Family, name, begins to melt, all melted, source.
ALLOYS: tuple[tuple[str, str, float, float | None, str], ...] = (
    ("soft", "Tin-lead 63/37", 183, 183, _SOLDERS),
    ("soft", "Tin-lead 60/40", 183, 188, f"{_SOLDERS}; others print 190 °C for all melted"),
    ("soft", "Tin-lead 50/50", 183, 212, _SOLDERS),
    ("soft", "Tin-lead 40/60, plumber's", 183, 234, _SOLDERS),
    ("soft", "Tin-lead 30/70, body solder", 183, 255, _SOLDERS),
    ("soft", "Tin-lead 20/80", 183, 275, _SOLDERS),
    ("soft", "Tin-lead-silver 62/36/2", 179, None, _SOLDERS),
    ("soft", "Tin-silver-copper 305, lead-free", 217, 220, _SOLDERS),
    ("soft", "Tin-silver 96/4, lead-free", 221, 221, _SOLDERS),
    ("soft", "Tin-copper 99/1, lead-free", 227, 227, _SOLDERS),
    ("soft", "Pure tin", 232, 232, _SOLDERS),
    ("soft", "Tin-antimony 95/5", 236, 243, _SOLDERS),
    ("soft", "Lead-tin-silver 93.5/5/1.5", 296, 301, _SOLDERS),
    ("silver", "Silver braze 56 % (Ag 156)", 620, 650, _SILVERS),
    ("silver", "Silver braze 55 % (Ag 155)", 630, 660, _SILVERS),
    ("silver", "Silver braze 45 % (Ag 145)", 640, 680, _SILVERS),
    ("silver", "Silver braze 40 %", 650, 710, _SILVERS),
    ("silver", "Silver braze 34 % (Ag 134)", 630, 730, _SILVERS),
    ("silver", "Silver braze 30 %", 665, 755, _SILVERS),
    ("brass", "Brazing brass (Cu 470a)", 875, 895, _MEMORY),
    ("copper_p", "Copper-phosphorus, not for steel", 645, 800, _MEMORY),
)

_SEALS = "Seal maker's chart, read"
_BEARINGS = "Bearing supplier's limits, read"
# Sort, name, what it stands in C, source.
LIMITS: tuple[tuple[str, str, float, str], ...] = (
    ("left_on", "Nitrile rubber (NBR) seal", 100, f"{_SEALS}; 120 °C for a moment"),
    ("left_on", "Neoprene", 100, _SEALS),
    ("left_on", "Polyurethane", 80, _SEALS),
    ("left_on", "EPDM rubber", 130, f"{_SEALS}: 130 to 150 °C"),
    ("left_on", "Silicone rubber", 200, _SEALS),
    ("left_on", "Fluoro-rubber (FKM)", 200, f"{_SEALS}; over 300 °C it gives hydrofluoric acid"),
    ("left_on", "PTFE", 260, _SEALS),
    ("left_on", "Natural rubber bush", 80, _MEMORY),
    ("left_on", "Nylon (PA66)", 120, _MEMORY),
    ("left_on", "Acetal", 100, _MEMORY),
    ("left_on", "PVC, wiring", 70, _MEMORY),
    ("left_on", "Leather", 70, _MEMORY),
    ("left_on", "Fibre washer", 100, _MEMORY),
    ("left_on", "Body filler", 120, _MEMORY),
    ("left_on", "Seam sealer", 150, _MEMORY),
    ("left_on", "Underseal", 80, _MEMORY),
    ("bearing", "Bearing, standard steel", 121, _BEARINGS),
    ("bearing", "Bearing with a nylon cage", 121, _BEARINGS),
    ("magnet", "Magnet, neodymium", 80, _MEMORY),
    ("magnet", "Magnet, ferrite", 250, _MEMORY),
    ("magnet", "Magnet, samarium-cobalt", 250, _MEMORY),
    ("magnet", "Magnet, alnico", 450, _MEMORY),
    ("lining", "Tinned or terne steel", 232, "Melting point of tin, table read"),
    ("lining", "White-metal lining", 180, _MEMORY),
)


def sow(*, adhesives: Any, alloys: Any, limits: Any) -> None:
    """Writes the rows that are missing, through the managers of the three models."""
    for fields in ADHESIVES:
        # A sort is never one product's sheet: its figures are marked as ours to the reader.
        adhesives.get_or_create(key=key_of(fields["name"]), defaults={**fields, "is_ours": True})
    for family, name, solidus_c, liquidus_c, source in ALLOYS:
        alloys.get_or_create(
            key=key_of(name),
            defaults={
                "family": family,
                "name": name,
                "solidus_c": solidus_c,
                "liquidus_c": liquidus_c,
                "source": source,
            },
        )
    for sort, name, limit_c, source in LIMITS:
        limits.get_or_create(
            key=key_of(name),
            defaults={"sort": sort, "name": name, "limit_c": limit_c, "source": source},
        )
