"""Names that outlive a replug."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.pedals.midi.roster import Roster


def names(roster: Roster) -> dict[str, str | None]:
    return {place.device: place.port if place.here else None for place in roster.places}


def test_a_second_device_of_the_same_name_is_numbered_in_the_order_of_coming() -> None:
    roster, gone, came = Roster().step([("Foot 20:0", "Foot"), ("Foot 24:0", "Foot")])
    assert gone == ()
    assert [place.device for place in came] == ["Foot", "Foot (2)"]
    assert names(roster) == {"Foot": "Foot 20:0", "Foot (2)": "Foot 24:0"}


def test_a_device_numbered_anew_in_one_look_went_and_came_back() -> None:
    roster, _, _ = Roster().step([("Foot 20:0", "Foot")])
    roster, gone, came = roster.step([("Foot 24:0", "Foot")])
    assert [place.device for place in gone] == [place.device for place in came] == ["Foot"]
    assert names(roster) == {"Foot": "Foot 24:0"}


def test_a_twin_takes_back_the_name_its_port_had() -> None:
    both = [("Foot 20:0", "Foot"), ("Foot 24:0", "Foot")]
    roster, _, _ = Roster().step(both)
    roster, _, _ = roster.step([])
    roster, _, came = roster.step([both[1]])
    assert [place.device for place in came] == ["Foot (2)"]
    roster, _, came = roster.step([both[1], ("Foot 28:0", "Foot")])
    assert [place.device for place in came] == ["Foot"]


def test_a_number_given_by_the_system_is_not_given_twice() -> None:
    roster, _, _ = Roster().step([("a", "Foot (2)"), ("b", "Foot"), ("c", "Foot")])
    assert names(roster) == {"Foot (2)": "a", "Foot": "b", "Foot (3)": "c"}


ports = st.lists(st.sampled_from(["A 1", "A 2", "A 3", "B 1", "B 2"]), unique=True)


@given(st.lists(ports, max_size=12))
def test_every_port_always_has_one_name_and_no_name_two_ports(looks: list[list[str]]) -> None:
    roster = Roster()
    here: set[str] = set()
    for look in looks:
        roster, gone, came = roster.step([(port, port[0]) for port in look])
        here = (here - {place.device for place in gone}) | {place.device for place in came}
        present = [place for place in roster.places if place.here]
        assert sorted(place.port for place in present) == sorted(look)
        assert {place.device for place in present} == here
        assert len({place.device for place in roster.places}) == len(roster.places)
        assert all(place.device.startswith(place.plain) for place in roster.places)
        # No more names of a kind than were ever there at once.
        assert sum(place.plain == "A" for place in roster.places) <= 3
