from fabrication.models.beads import BeadTest, BeadTool
from fabrication.models.bending import Comparison, DoneStep, Making, Reading, SheetFreeze
from fabrication.models.bracket import BracketSheet, Coating, SheetGrade, SheetStock, TestStrip
from fabrication.models.cure import (
    Bond,
    CalendarFeed,
    Clock,
    Coat,
    TemperatureReading,
    TimeMark,
)
from fabrication.models.practice import PracticeBend
from fabrication.models.printer import Printer, UsualPrinter
from fabrication.models.sheet import Duty, PipeRevision, PipeSheet
from fabrication.models.tools import Former, Temper, Tool, TubeStock

__all__ = [
    "BeadTest",
    "BeadTool",
    "Bond",
    "BracketSheet",
    "CalendarFeed",
    "Clock",
    "Coat",
    "Coating",
    "Comparison",
    "DoneStep",
    "Duty",
    "Former",
    "Making",
    "PipeRevision",
    "PipeSheet",
    "PracticeBend",
    "Printer",
    "Reading",
    "SheetFreeze",
    "SheetGrade",
    "SheetStock",
    "Temper",
    "TemperatureReading",
    "TestStrip",
    "TimeMark",
    "Tool",
    "TubeStock",
    "UsualPrinter",
]
