"""Room in the machines while a proposal is made: always what the machines' own rule says."""

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning.machines import EggLoad, Machine, Room, room
from farm.planning.ordering.calendar import setting
from farm.planning.ordering.racks import Racks, best_fit
from tests.planning.ordering_world import day, kind

MACHINES = (
    Machine("both", "Both", "both", {"medium": 100, "large": 60}, cleaning_days=2),
    Machine("hatcher", "Hatcher", "hatcher", {"medium": 80}),
    Machine("setter", "Setter", "setter", {"medium": 150, "large": 90}, species=frozenset({"chicken", "duck"})),
    Machine("spare", "Spare", "both", {"large": 40}, in_service_from=day(20)),
)  # fmt: skip
PAIRS = (("both", "both"), ("setter", "hatcher"), ("setter", "both"), ("both", "hatcher"))


@st.composite
def load(draw, key):
    set_on, days = day(draw(st.integers(-20, 60))), draw(st.sampled_from((21, 28)))
    setter, hatcher = draw(st.sampled_from(PAIRS))
    species, size = draw(st.sampled_from((("chicken", "medium"), ("duck", "large"))))
    return EggLoad(
        key, key, species, size, draw(st.integers(1, 60)), setter, hatcher,
        set_on, set_on + timedelta(days=days - 3), set_on + timedelta(days=days),
    )  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(data=st.data(), count=st.integers(0, 6), at=st.integers(21, 90))
def test_room_is_what_the_machines_rule_says_however_eggs_come_and_go(data, count, at):
    racks, asked = Racks(MACHINES, ()), setting(kind(), day(at))
    racks.room(kind(), asked)
    listed = [data.draw(load(f"load {number}")) for number in range(count)]
    for each in listed:
        racks.put(each)
    racks.room(kind(), asked)
    if listed:
        racks.take_out(listed.pop(0))
    assert racks.room(kind(), asked) == room(
        MACHINES, listed, "chicken", asked.set_on, asked.lockdown, asked.hatch_day
    )


def test_the_smallest_room_that_will_do_is_taken():
    rooms = (Room("a", "a", 90), Room("b", "c", 40), Room("b", "b", 40), Room("d", "d", 10))
    assert best_fit(rooms, 30) == Room("b", "b", 40)
    assert best_fit(rooms, 91) is None
