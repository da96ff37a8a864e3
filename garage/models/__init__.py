from garage.models.car import Car, System
from garage.models.garage import Garage, SetupCode
from garage.models.person import Person, Role
from garage.models.photo import Photo

__all__ = ["Car", "Garage", "Person", "Photo", "Role", "SetupCode", "System"]
