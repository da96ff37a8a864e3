from fabrication.models.sheet import Duty, PipeSheet
from fabrication.models.tools import Former, Temper, TubeStock

__all__ = ["Duty", "Former", "PipeSheet", "Temper", "TubeStock"]
