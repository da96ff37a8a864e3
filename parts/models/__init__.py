from parts.models.corner import Corner, Pin
from parts.models.dropoff import Count, DropOff, Line
from parts.models.fastener import Connection, Hole, StackItem
from parts.models.finisher import Finisher, Process, Service
from parts.models.heat import Adhesive, Alloy, Answer, Joint, Limit, SentAnyway
from parts.models.history import Draft, Event
from parts.models.mask import Mask
from parts.models.part import Part, Question
from parts.models.photo import Moment, PartPhoto
from parts.models.piece import Piece
from parts.models.piece_words import Condition, Material, Purpose
from parts.models.place import Place
from parts.models.plan import Kind, Progress, Step
from parts.models.refit import Preparation, Reminder, Requirement, Snag, TorqueUsed

__all__ = [
    "Adhesive",
    "Alloy",
    "Answer",
    "Condition",
    "Connection",
    "Corner",
    "Count",
    "Draft",
    "DropOff",
    "Event",
    "Finisher",
    "Hole",
    "Joint",
    "Kind",
    "Limit",
    "Line",
    "Mask",
    "Material",
    "Moment",
    "Part",
    "PartPhoto",
    "Piece",
    "Pin",
    "Place",
    "Preparation",
    "Process",
    "Progress",
    "Purpose",
    "Question",
    "Reminder",
    "Requirement",
    "SentAnyway",
    "Service",
    "Snag",
    "StackItem",
    "Step",
    "TorqueUsed",
]
