"""What is set up: each thing with its value of today, and how it is changed by foot. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pedaltrainer.screen.view import Sight
from pedaltrainer.session.home import HOME, Leaf, LeafRow
from pedaltrainer.session.state import DISTANCE_CHOICES_M, SCREEN_CHOICES_INCHES
from pedaltrainer.session.tap_along import Aim
from pedaltrainer.showing.home.pages import do, page, teach, turn
from pedaltrainer.showing.home.tapping_along import trial
from pedaltrainer.timing.sound_device import BUFFERS

SET_UP = "set up"


@dataclass(frozen=True, slots=True)
class SetUpFacts:
    """How the stage is set up by now. tuning: its notes, lowest first. sound_delay_ms: 0 for the usual;
    sound_heard_ms: by the sound check of the ear, 0 without one."""

    sight: Sight
    player: str
    tuning: str
    volume: float
    answers: str
    boxes_in_take: bool
    left_handed: bool
    answer_sounds: bool
    sound_delay_ms: float
    sound_heard_ms: float = 0.0
    ear: str = "off"
    ear_input: str = ""
    backing: str = "off"
    backing_level: float = 0.6
    backing_pad: bool = False
    clock_out: str = ""
    sound_device: str = ""
    sound_buffer: int = 512


# --- values in words ------------------------------------------------------------------


def yes_no(value: bool) -> str:
    return "yes" if value else "no"


def percent(volume: float) -> str:
    """A volume as the player reads it: "40 %", or "off"."""
    return f"{round(volume * 100)} %" if volume else "off"


ANSWERS = {
    "ask": "asked after each take",
    "count": "asked, misses counted",
    "speak-up": "press at a miss",
}
"""The ways to answer, in the order in which they are gone round."""


EARS = {"off": "off", "tells": "tells what it hears", "answers": "answers what it is sure of"}
"""What the ear is for, in the order in which it is gone round."""
MIDI_GUITAR = "MIDI guitar"
"""Before the name of a MIDI input that the ear listens to, and a colon."""
BACKINGS = ("off", "straight", "shuffle", "waltz", "compound")
LEVELS = (0.2, 0.4, 0.6, 0.8, 1.0)
"""How loud a backing can be beside the click."""


def _after(order: Sequence[str], now: str) -> str:
    return order[(order.index(now) + 1) % len(order)]


def delay(sound_delay_ms: float) -> str:
    return f"{sound_delay_ms:g} ms" if sound_delay_ms else "the usual"


def screen_words(inches: float) -> str:
    return f"{inches:g} in  ({inches * 2.54:.0f} cm)"


TUNINGS = (
    ("E A D G B E", "the usual one"),
    ("D A D G B E", "the lowest at D"),
    ("Eb Ab Db Gb Bb Eb", "half a step down"),
    ("D G C F A D", "a step down"),
    ("D A D G A D", "D and A"),
    ("D G D G B D", "open G"),
    ("D A D F# A D", "open D"),
    ("G4 C4 E4 A4", "ukulele"),
)
"""Tunings that are offered, and what they are called (common practice, no published source)."""


# --- pages ------------------------------------------------------------------------------


def set_up(facts: SetUpFacts) -> Leaf:
    """Everything that is set up, likeliest first."""
    sight = facts.sight
    return page(
        SET_UP,
        "Set up",
        (
            turn(f"Sound: {percent(facts.volume)}", "sound"),
            choose(
                f"Answers: {ANSWERS[facts.answers]}", "answer_style", _after(tuple(ANSWERS), facts.answers)
            ),
            teach("Teach the pedal"),
            turn(f"Ear: {EARS[facts.ear]}", "ear"),
            turn(f"Screen: {sight.screen_inches:g} in, {sight.distance_m:g} m away", "screen"),
            choose(
                f"Boxes while you play: {yes_no(facts.boxes_in_take)}",
                "boxes",
                "between" if facts.boxes_in_take else "in-take",
            ),
            choose(f"Left-handed: {yes_no(facts.left_handed)}", "left_handed", yes_no(not facts.left_handed)),
            turn(f"Tuning: {facts.tuning}", "tuning"),
            turn(f"Player: {facts.player}", "players"),
        ),
    )


def ear(facts: SetUpFacts) -> Leaf:
    """What the ear is for, and what it listens to."""
    return page(
        "ear",
        f"Ear: {EARS[facts.ear]}",
        (
            choose(f"Ear: {EARS[facts.ear]}", "ear", _after(tuple(EARS), facts.ear)),
            turn(f"By: {shown_ear_input(facts.ear_input)}", "ear inputs"),
        ),
        lines=("No sound is kept, and nothing leaves this computer.",),
    )


def shown_ear_input(name: str) -> str:
    """An input of the ear as a row has it."""
    return shown_port(name) if name else "the system's microphone"


def ear_inputs(now: str, sounds: Sequence[str], midi: Sequence[str]) -> Leaf:
    """What the ear listens to: the inputs for sound, then those for MIDI."""
    guitars = [f"{MIDI_GUITAR}: {name}" for name in midi[:MOST_EAR_INPUTS]]
    names = list(dict.fromkeys(("", *sounds[:MOST_EAR_INPUTS], *guitars, *((now,) if now else ()))))
    shown = {f"{MIDI_GUITAR}: {name}": f"{MIDI_GUITAR}: {shown_port(name)}" for name in midi}
    rows = [
        choose(shown.get(name, shown_ear_input(name)), "ear_input", name or SYSTEMS_OWN, "ear")
        for name in names
    ]
    lines = ("What is named as a guitar is no pedal any more.",) if guitars else ()
    return page("ear inputs", "What does the ear listen to?", rows, lines=lines, marked=names.index(now))


def choose(words: str, name: str, value: str, then: str = "") -> LeafRow:
    """A row that gives a setting a value."""
    return do(words, "set", f"{name} {value}", then)


def sound(facts: SetUpFacts) -> Leaf:
    """How loud it is, what is heard beside the click, and how late it comes."""
    louder = next((level for level in LEVELS if level > facts.backing_level + 1e-9), LEVELS[0])
    return page(
        "sound",
        f"Sound: {percent(facts.volume)}",
        (
            do("Louder", "volume", "+"),
            do("Quieter", "volume", "-"),
            choose(
                f"Sounds for answers: {yes_no(facts.answer_sounds)}",
                "answer_sounds",
                yes_no(not facts.answer_sounds),
            ),
            choose(f"Backing: {facts.backing}", "backing", _after(BACKINGS, facts.backing)),
            *(
                (
                    choose(f"Backing at {percent(facts.backing_level)}", "backing_level", f"{louder:g}"),
                    choose(
                        f"Soft chords in it: {yes_no(facts.backing_pad)}",
                        "backing_pad",
                        yes_no(not facts.backing_pad),
                    ),
                )
                if facts.backing != "off"
                else ()
            ),
            turn(f"Device: {shown_device(facts.sound_device)}", "device"),
            turn(f"MIDI clock: {shown_port(facts.clock_out)}", "clock"),
        ),
        lines=("Each step sounds as loud as the click.",),
    )


NO_CLOCK = "off"
MOST_PORTS, MOST_EAR_INPUTS, LONGEST_PORT_SHOWN = 6, 3, 22


def shown_port(name: str) -> str:
    """An output as a row has it."""
    if len(name) > LONGEST_PORT_SHOWN:
        return f"{name[: LONGEST_PORT_SHOWN - 1]}…"
    return {"": NO_CLOCK, "virtual": "a port of our own"}.get(name, name)


def clock(now: str, outputs: Sequence[str]) -> Leaf:
    """Where the clock goes that others follow."""
    names = list(dict.fromkeys(("", *outputs[:MOST_PORTS], "virtual", *((now,) if now else ()))))
    rows = [choose(shown_port(name), "clock_out", name or NO_CLOCK, "sound") for name in names]
    lines = ("A looper, a drum machine or another program follows the take.",)
    return page("clock", "MIDI clock", rows, lines=lines, marked=names.index(now))


SYSTEMS_OWN = "off"
OFFERED_BUFFERS = BUFFERS[1:]
"""The smallest is for machines that are known to keep up with it."""


def shown_device(name: str) -> str:
    """A sound device as a row has it."""
    return shown_port(name) if name else "the system's own"


def device(facts: SetUpFacts) -> Leaf:
    """Where the sound goes, how late it comes, and how much of it is handed over at once."""
    buffer = next((size for size in OFFERED_BUFFERS if size > facts.sound_buffer), OFFERED_BUFFERS[0])
    return page(
        "device",
        "Sound device",
        (
            turn(f"Device: {shown_device(facts.sound_device)}", "devices"),
            turn(f"Sound delay: {delay(facts.sound_delay_ms)}", "sound delay"),
            choose(f"Buffer: {facts.sound_buffer}", "sound_buffer", str(buffer)),
        ),
        lines=("A larger buffer stumbles less.",),
    )


def devices(now: str, names: Sequence[str]) -> Leaf:
    """Which device is played to."""
    found = list(dict.fromkeys(("", *names[:MOST_PORTS], *((now,) if now else ()))))
    rows = [choose(shown_device(name), "sound_device", name or SYSTEMS_OWN, "device") for name in found]
    return page("devices", "Which device?", rows, marked=found.index(now))


def sound_delay(facts: SetUpFacts) -> Leaf:
    heard_ms = facts.sound_heard_ms
    by_microphone = do(f"By microphone: {heard_ms:.0f} ms", "take delay", f"{heard_ms:.0f}")
    return page(
        "sound delay",
        f"Sound delay: {delay(facts.sound_delay_ms)}",
        (
            *((by_microphone,) if heard_ms > 0 else ()),
            trial("Find it by foot: tap along", Aim.DELAY, "sound tapped"),
            trial("Find it by eye: plank and click", Aim.EYE, "sound tapped"),
            do("Later", "sound delay", "+"),
            do("Sooner", "sound delay", "-"),
        ),
        lines=("How late the click reaches you.",),
    )


def screen(sight: Sight, place: str = "screen", then: str = "distance") -> Leaf:
    """How big the screen is. place: what the page is called; then: where it leads."""
    return page(
        place,
        "Screen, corner to corner",
        (
            choose(screen_words(inches), "screen_inches", f"{inches:g}", then)
            for inches in SCREEN_CHOICES_INCHES
        ),
        marked=nearest(SCREEN_CHOICES_INCHES, sight.screen_inches),
    )


def distance(sight: Sight, place: str = "distance", then: str = SET_UP) -> Leaf:
    """How far away the eyes are."""
    return page(
        place,
        "From eye to screen",
        (choose(f"{metres:g} m", "distance_m", f"{metres:g}", then) for metres in DISTANCE_CHOICES_M),
        marked=nearest(DISTANCE_CHOICES_M, sight.distance_m),
    )


def nearest(choices: Sequence[float], value: float) -> int:
    """The place of the choice that is nearest to a value."""
    return min(range(len(choices)), key=lambda place: abs(choices[place] - value))


def tuning(facts: SetUpFacts) -> Leaf:
    """What the guitar is tuned to."""
    notes = [offered for offered, _ in TUNINGS]
    rows = [choose(f"{offered}: {called}", "tuning", offered, SET_UP) for offered, called in TUNINGS]
    if facts.tuning not in notes:
        rows.insert(0, choose(f"{facts.tuning}: as it is", "tuning", facts.tuning, SET_UP))
    marked = notes.index(facts.tuning) if facts.tuning in notes else 0
    return page("tuning", "The strings, lowest first", rows, marked=marked)


# --- players ----------------------------------------------------------------------------


def players(now: str, there: Iterable[str]) -> Leaf:
    """Everybody who has played here, and somebody new."""
    names = list(dict.fromkeys((*there, now)))
    rows = [choose(name if name != now else f"{name} plays now", "player", name, HOME) for name in names]
    new = new_name(names)
    rows += [choose(f"Somebody new: {new}", "player", new, HOME), turn("Somebody new, by name", "name")]
    other = next((place for place, name in enumerate(names) if name != now), len(names))
    return page("players", "Who plays?", rows, marked=other)


def new_name(names: Iterable[str]) -> str:
    """A name that nobody has: "player 2", or with the next number."""
    taken = set(names)
    number = 2
    while f"player {number}" in taken:
        number += 1
    return f"player {number}"


LETTERS = ("ABCDEFG", "HIJKLMN", "OPQRSTU", "VWXYZ -")
"""The letters of a name, in groups: which group, then which letter of it."""
LONGEST_NAME = 20


def name(so_far: str) -> Leaf:
    """A name, written letter by letter."""
    groups = [turn(f"{group[0]} to {group.rstrip(' -')[-1]}", "letters", group) for group in LETTERS]
    rows = [choose(f"Done: {so_far}", "player", so_far, HOME)] if so_far else []
    rows += groups if len(so_far) < LONGEST_NAME else []
    rows += [do("Take the last letter away", "letter", "")] if so_far else []
    return page("name", so_far or "Your name", rows)


def letters(group: str, so_far: str) -> Leaf:
    """The letters of one group: a name begins with a capital."""
    rows = (
        do(_letter_words(one), "letter", one.lower() if so_far[-1:].strip(" -") else one, "name")
        for one in group
        if so_far or one.isalpha()
    )
    return page("letters", f"{so_far}…", rows, value=group)


def _letter_words(letter: str) -> str:
    return {" ": "a space", "-": "a dash"}.get(letter, letter)
