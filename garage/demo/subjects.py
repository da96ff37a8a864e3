"""Every subject that can be drawn, with the side it is best seen from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from garage.demo import scenes
from garage.demo import solids_body as body
from garage.demo import solids_brakes as brakes
from garage.demo import solids_chassis as chassis
from garage.demo import solids_electric as electric
from garage.demo import solids_engine as engine
from garage.demo import solids_fuel as fuel
from garage.demo.mesh import Mesh, smoothed


@dataclass(frozen=True, slots=True)
class Subject:
    """A maker of the solid; where the camera stands (0 along x, 90 along y) and how high. [deg]"""

    make: Callable[[], Mesh]
    azimuth_deg: float = -60.0
    spread_deg: float = 35.0
    pitch_deg: tuple[float, float] = (30.0, 48.0)
    scene: bool = False
    damage: str = "crack"


SUBJECTS: dict[str, Subject] = {
    "bracket": Subject(body.bracket, -60, 40, damage="hole"),
    "L-bracket": Subject(body.l_bracket, -125, 35, damage="hole"),
    "pulley": Subject(engine.pulley, 0, 180),
    "drum": Subject(brakes.drum, 0, 180),
    "drum face": Subject(brakes.drum_face, 0, 180, damage="hole"),
    "brake disc": Subject(brakes.brake_disc, 0, 180, (32, 50)),
    "backing plate": Subject(brakes.backing_plate, 0, 180, (42, 62), damage="hole"),
    "brake caliper": Subject(brakes.brake_caliper, -68, 28, (26, 42)),
    "wheel cylinder": Subject(brakes.wheel_cylinder, -60, 35),
    "thermostat housing": Subject(engine.thermostat_housing, -85, 35, damage="stud"),
    "coolant pipe": Subject(engine.coolant_pipe, -80, 30, (38, 58), damage="hole"),
    "hose": Subject(engine.hose, -80, 30, (32, 50)),
    "hose clip": Subject(engine.hose_clip, 10, 50, (32, 50)),
    "radiator": Subject(engine.radiator, -62, 22, (16, 28), damage="hole"),
    "water pump": Subject(engine.water_pump, 40, 60, damage="stud"),
    "fan": Subject(engine.fan, 0, 180, (42, 64)),
    "starter motor": Subject(electric.starter_motor, -50, 30, (22, 38)),
    "dynamo": Subject(electric.dynamo, -48, 28, (22, 38)),
    "coil": Subject(electric.coil, -50, 30, (26, 42)),
    "gearbox cover": Subject(engine.gearbox_cover, -80, 60, (36, 58), damage="stud"),
    "carburettor": Subject(fuel.carburettor, -40, 30, (20, 36)),
    "fuel pump": Subject(fuel.fuel_pump, -45, 40, (26, 44)),
    "fuel tank": Subject(fuel.fuel_tank, 40, 60, (28, 44), damage="hole"),
    "exhaust manifold": Subject(fuel.exhaust_manifold, -90, 40, (34, 56), damage="stud"),
    "air filter can": Subject(fuel.air_filter_can, 20, 60, (28, 46), damage="hole"),
    "coil spring": Subject(chassis.coil_spring, -70, 40, (24, 42)),
    "leaf spring": Subject(chassis.leaf_spring, -70, 20, (20, 36)),
    "damper": Subject(chassis.damper, -70, 35, (28, 48)),
    "wishbone": Subject(chassis.wishbone, -30, 60, (36, 56)),
    "drop arm": Subject(chassis.drop_arm, -70, 45, (30, 50)),
    "track rod": Subject(chassis.track_rod, -72, 25, (26, 44)),
    "prop shaft": Subject(chassis.prop_shaft, -48, 22, (22, 38)),
    "handbrake lever": Subject(brakes.handbrake_lever, -80, 40, (36, 58)),
    "lever": Subject(chassis.lever, -80, 50, (30, 50)),
    "headlamp bowl": Subject(body.headlamp_bowl, 170, 40, (34, 52), damage="hole"),
    "door hinge": Subject(body.door_hinge, -65, 35, (32, 52)),
    "window regulator": Subject(body.window_regulator, -80, 40, (44, 64)),
    "bumper iron": Subject(body.bumper_iron, -75, 30, (28, 46), damage="hole"),
    "seat runner": Subject(body.seat_runner, -70, 25, (28, 46), damage="hole"),
    "battery tray": Subject(body.battery_tray, -65, 40, (36, 54), damage="hole"),
    "tie plate": Subject(body.tie_plate, -80, 50, (34, 54), damage="stud"),
    "hub flange": Subject(body.hub_flange, 0, 180, (32, 52), damage="stud"),
    "bolts": Subject(fuel.bolts_laid_out, -90, 25, (46, 66)),
    "washers": Subject(fuel.washers, 0, 180, (42, 64)),
    "tin of fasteners": Subject(fuel.tin_of_fasteners, -60, 40, (34, 52)),
    "batch": Subject(scenes.batch, -90, 14, (44, 58)),
    "engine bay": Subject(scenes.engine_bay, -58, 10, (40, 48), scene=True),
}


@lru_cache(maxsize=16)
def solid(name: str) -> Mesh:
    """The subject's solid, longest side 2, standing on z = 0. Callers must not change it."""
    return smoothed(SUBJECTS[name].make().standing())
