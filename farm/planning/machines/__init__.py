"""Incubators, setters and hatchers: how full they are, which egg sets clash in them, and how many more fit; pure."""

from farm.planning.machines.conflict import KINDS, Conflict
from farm.planning.machines.filling import MachineDay, by_day
from farm.planning.machines.judging import conflicts
from farm.planning.machines.records import EggLoad, Machine
from farm.planning.machines.room import Room, room

__all__ = ["KINDS", "Conflict", "EggLoad", "Machine", "MachineDay", "Room", "by_day", "conflicts", "room"]
