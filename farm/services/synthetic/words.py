"""Words and numbers the invented farms are put together from. All of it made up; no trade number is taken from here."""

from __future__ import annotations

ADJECTIVES = (
    "Alder",
    "Birch",
    "Clover",
    "Dapple",
    "Elder",
    "Fern",
    "Gorse",
    "Hazel",
    "Ivy",
    "Juniper",
    "Linden",
    "Maple",
)
PLACES = (
    "Brook",
    "Corner",
    "Croft",
    "Dale",
    "End",
    "Field",
    "Gate",
    "Hill",
    "Lane",
    "Meadow",
    "Nook",
    "Yard",
)
PEOPLE = (
    "Ada",
    "Ben",
    "Cleo",
    "Dora",
    "Emil",
    "Fritz",
    "Greta",
    "Hal",
    "Ines",
    "Jonas",
    "Karla",
    "Lina",
    "Marta",
    "Nils",
)
CUSTOMERS = ("A-12", "B-03", "C-21", "D-07", "M-05", "Meadow shop", "Village market")
#: Where farms stand: time zone, units, latitude, longitude, of no real farm.
SITES = (
    ("Europe/Berlin", "metric", 51.0, 10.0),
    ("Europe/Warsaw", "metric", 52.0, 19.0),
    ("Europe/London", "metric", 52.5, -1.5),
    ("America/Chicago", "us", 41.5, -93.5),
    ("America/Denver", "us", 39.5, -105.0),
    ("Australia/Hobart", "metric", -42.0, 147.0),
)
#: How often each programme is kept, in parts.
PROGRAMMES = {
    "chicken_layer_brown": 6,
    "chicken_dual": 5,
    "chicken_meat": 3,
    "duck": 2,
    "turkey_medium": 1,
    "quail_layer": 2,
}
OLDEST_DAYS = 110  # of a batch
BIRDS = (12, 120)  # of a batch when it came
ROOM = (0.9, 1.6)  # floor area of what the birds will need: now and then it is too little
MARKED_DAYS = 3  # days behind on which the rounds were ticked
