"""The demo garage: a half-finished restoration of a car that never existed.

Every name, number and shop is invented. A row of ``PARTS`` is a part and its fate; ``load`` turns
fates into the same steps a person would have taken, on the days they would have taken them.
"""

import csv
from dataclasses import dataclass
from pathlib import Path

CAR = {
    "marque": "Hollin",
    "model": "Wayfarer 1600 estate",
    "year": 1969,
    "chassis_number": "W16E 004417",
    "engine_number": "16H 20981",
    "colour": "Tarn green",
    "notes": "Bought as a shell on wheels with two crates of parts. Last on the road in 1988.",
}
GARAGE = {
    "name": "Lock Lane garage",
    "address": "4 Lock Lane\nWeirbridge",
    "phone": "0100 555 0178",
    "currency": "GBP",
    "time_zone": "Europe/London",
}


@dataclass(frozen=True, slots=True)
class Row:
    system: str
    name: str
    subject: str
    look: str
    place: str
    material: str
    fate: str
    more: dict[str, str]


def _pairs(text: str) -> dict[str, str]:
    return dict(pair.split("=", 1) for pair in text.split(";") if pair)


def _rows() -> tuple[Row, ...]:
    """The parts of the demo, from ``parts.csv``; ``load`` says what each fate leads to."""
    text = (Path(__file__).parent / "parts.csv").read_text(encoding="utf-8")
    return tuple(
        Row(**{**line, "more": _pairs(line["more"])})
        for line in csv.DictReader(text.splitlines(), delimiter="|")
    )


PARTS = _rows()

FINISHERS = (
    {
        "name": "Scarrow Coatings",
        "address": "Unit 6, Weir Yard",
        "phone": "0100 555 0142",
        "lead_days": 10,
        "notes": "Small lots go in with bigger ones. Ring on Thursdays. Asks for holes to hang by.",
        "services": (("blast", None, None), ("powder", 190, 12), ("paint", 70, 30)),
    },
    {
        "name": "Penhale Plating",
        "address": "The Old Tannery, Penhale",
        "phone": "0100 555 0163",
        "lead_days": 7,
        "notes": "Zinc with clear passivate on Tuesdays. Weighs loose fasteners.",
        "services": (("strip", None, None), ("plate", 60, 40)),
    },
    {
        "name": "Millrace Machine Shop",
        "address": "Mill Lane 2",
        "phone": "0100 555 0119",
        "lead_days": 14,
        "notes": "Skims drums, faces heads, bores and sleeves.",
        "services": (("machine", None, None), ("weld", None, None)),
    },
)

# part name -> holes: number, alike, where, stack, torque in N m, its source
HOLES = {
    "Thermostat housing, lower half": (
        (
            1,
            2,
            "Studs in the head",
            "M8 x 38 stud, the part, plain washer, M8 nut",
            18.0,
            "Workshop manual, section B",
        ),
        (
            2,
            1,
            "Front left",
            "5/16-18 UNC x 1 1/4 in bolt, spring washer, the part",
            16.0,
            "Workshop manual, section B",
        ),
    ),
    "Water pump": (
        (
            1,
            4,
            "Flange",
            "M8 x 45 bolt, spring washer, the part",
            22.0,
            "Workshop manual, section B",
        ),
    ),
    "Drop arm": (
        (1, 1, "Taper", "M20x1.5 nut, spring washer", 130.0, "Workshop manual, section J"),
    ),
    "Track rod, left": (
        (1, 2, "Ball pins", "M12x1.25 nut, split pin", 45.0, "Workshop manual, section J"),
    ),
    "Track rod, right": (
        (1, 2, "Ball pins", "M12x1.25 nut, split pin", 45.0, "Workshop manual, section J"),
    ),
    "Upper wishbone, left": (
        (
            1,
            2,
            "Fulcrum pin",
            "M12 x 90 bolt, plain washer, the part, M12 nut",
            75.0,
            "Workshop manual, section K",
        ),
    ),
    "Upper wishbone, right": (
        (
            1,
            2,
            "Fulcrum pin",
            "M12 x 90 bolt, plain washer, the part, M12 nut",
            75.0,
            "Workshop manual, section K",
        ),
    ),
    "Lower wishbone, left": (
        (
            1,
            2,
            "Fulcrum pin",
            "M12 x 110 bolt, bush, the part, plain washer, M12 nut",
            75.0,
            "Workshop manual, section K",
        ),
    ),
    "Leaf spring, left": (
        (1, 4, "U-bolts", "M12x1.25 nut, plain washer", 60.0, "Workshop manual, section L"),
    ),
    "Leaf spring, right": (
        (1, 4, "U-bolts", "M12x1.25 nut, plain washer", 60.0, "Workshop manual, section L"),
    ),
    "Belt anchor plate, left": (
        (
            1,
            1,
            "Sill",
            "7/16-20 UNF x 1 in bolt, plain washer, the part",
            40.0,
            "Workshop manual, section R",
        ),
    ),
    "Header tank bracket": (
        (
            1,
            2,
            "Inner wing",
            "M6 x 16 bolt, plain washer, the part",
            9.0,
            "Workshop manual, section B",
        ),
    ),
    "Engine mounting, left": (
        (
            1,
            2,
            "To the block",
            "M10x1.25 x 30 bolt, spring washer, the part",
            48.0,
            "Workshop manual, section A",
        ),
    ),
    "Dynamo bracket": (
        (1, 2, "Block, right", "3/8-16 UNC x 1 in bolt, spring washer, the part", None, ""),
    ),
    "Wiper motor bracket": (
        (1, 3, "Bulkhead", "2 BA x 1/2 in screw, plain washer, the part", None, ""),
    ),
    "Bypass water pipe, pump to heater": (
        (1, 1, "Bracket to block", "M6 x 20 bolt, plain washer, the part", None, ""),
    ),
}

CONNECTIONS = (
    ("Bypass water pipe, pump to heater", "pipe", "Front end, bead", "Water pump", "Upper spigot"),
    (
        "Bypass water pipe, pump to heater",
        "pipe",
        "Rear end",
        "Heater valve lever",
        "Heater valve inlet",
    ),
    ("Top hose", "hose", "Upper end", "Radiator", "Top tank"),
    ("Top hose", "hose", "Lower end", "Thermostat housing, upper half", "Outlet"),
    ("Ignition coil", "wire", "CB, white and black", "", "Distributor"),
    ("Fuel pump", "pipe", "Inlet", "Fuel pipe, tank to pump", "Front end"),
)

# must be on first -> then
FIRST = (
    ("Thermostat housing, lower half", "Thermostat housing, upper half"),
    ("Water pump", "Bypass water pipe, pump to heater"),
    ("Radiator cradle", "Radiator"),
    ("Lower wishbone, left", "Front spring, left"),
    ("Rear backing plate, left", "Rear drum, left"),
    ("Radiator", "Top hose"),
)

DOUBTS = (
    (
        "Ignition coil",
        "The number is that of the 1300. Does it run on the 1600 with the ballast wire?",
        "Hollin register, by letter",
        "",
        False,
    ),
    (
        "Upper wishbone, left",
        "Early or late bush?",
        "Owners' gathering at Penhale",
        "Late: the collar is 22 mm.",
        True,
    ),
)

SNAGS = (
    (
        "Cooling",
        "snag",
        "Heater hose touches the bypass bracket",
        "Bypass water pipe, pump to heater",
    ),
    ("Steering", "snag", "Idler dust cover split when it went on", "Idler bracket"),
    ("Rear axle", "next", "Bleed screws: order two before the drums come back", ""),
    ("Front suspension", "next", "Set ride height, then tighten the bushes", ""),
)

# corner photo: name, pins (x, y share, part)
CORNERS = (
    (
        "Engine bay, right side",
        "engine bay",
        (
            (0.88, 0.74, "Fan shroud"),
            (0.64, 0.24, "Inlet manifold"),
            (0.41, 0.66, "Dynamo"),
            (0.36, 0.07, "Fuel pipe, tank to pump"),
        ),
    ),
    (
        "Bulkhead, as found",
        "engine bay",
        ((0.34, 0.03, "Wiper motor"), (0.43, 0.07, "Master cylinder")),
    ),
)
