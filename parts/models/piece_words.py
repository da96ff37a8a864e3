"""The words a piece is described with: what it is for, of what it is made, how it is."""

from django.db import models


class Purpose(models.TextChoices):
    """What this piece is for, when a part has more than one."""

    TO_FIT = "to_fit", "To be fitted"
    PATTERN = "pattern", "Keep as pattern until fitted"
    EXCHANGE = "exchange", "Hand back as exchange"
    SPARE = "spare", "Spare"
    SCRAP = "scrap", "Scrap"


class Material(models.TextChoices):
    STEEL = "steel", "Steel"
    STEEL_SPRING = "spring_steel", "Spring steel"
    CAST_IRON = "cast_iron", "Cast iron"
    STAINLESS = "stainless", "Stainless steel"
    ALUMINIUM_CAST = "cast_aluminium", "Cast aluminium"
    ALUMINIUM = "aluminium", "Wrought aluminium"
    MAGNESIUM = "magnesium", "Magnesium"
    ZINC_CAST = "zinc_cast", "Zinc die-cast"
    BRASS = "brass", "Brass or bronze"
    COPPER = "copper", "Copper"
    RUBBER = "rubber", "Rubber"
    PLASTIC = "plastic", "Plastic"
    GLASS = "glass", "Glass"
    WOOD = "wood", "Wood"
    TEXTILE = "textile", "Cloth or leather"
    MIXED = "mixed", "Several"


RUSTS_BARE = (Material.STEEL, Material.STEEL_SPRING, Material.CAST_IRON, Material.MIXED)


class Condition(models.TextChoices):
    SOUND = "sound", "Sound"
    WORN = "worn", "Worn"
    CRACKED = "cracked", "Cracked"
    BENT = "bent", "Bent"
    RUSTED = "rusted", "Rusted"
    SEIZED = "seized", "Seized"
    BROKEN = "broken", "Broken"
