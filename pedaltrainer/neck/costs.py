"""The table of costs: how hard a hand finds things, each with its reason.

One unit is about what one more finger costs. The costs of a fingering add up; so do those of a search and
of a route, which have their own sections.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Cost:
    """weight: cost of one unit of what is counted."""

    weight: float
    reason: str


FINGERING_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        # The same for every hold of the same frets: the data cannot tell, so these stand by reason.
        "pressed string": Cost(0.3, "each string pressed is one more that may buzz"),
        "more strings than fingers": Cost(
            1.5, "only a barre holds them, and holding a barre is what tires a hand"
        ),
        "wide grip": Cost(0.6, "10 mm more from the lowest to the highest fret than an open hand spans"),
        "muted between": Cost(
            0.4, "a string between others that must not sound has to be touched and not pressed"
        ),
        "open string far from the hand": Cost(
            0.1, "up the neck, a fret further from the open strings, they ring apart"
        ),
        "up the neck": Cost(
            0.05, "a fret further up the hand has further to come from where most chords are"
        ),
        # By reason too: too rare in the data, or hidden behind what only a barre can hold.
        "thumb": Cost(3.0, "a thumb over the neck suits few hands and necks"),
        "index and middle swapped": Cost(
            1.5, "the index on the higher string of one fret crosses under the middle finger"
        ),
        "index barre": Cost(0.15, "a finger laid flat needs more pressure than a fingertip"),
        "index barre string": Cost(0.2, "each string over three needs its share of that pressure"),
        # Tuned on the open data.
        "off one finger a fret": Cost(
            0.4, "the hand leaves its rest, in which each finger has a fret of its own"
        ),
        "idle index": Cost(0.6, "the strongest finger hangs in the air"),
        "idle index and middle": Cost(0.65, "a hand led by the ring finger has no hold on the neck"),
        "index below its fret": Cost(
            0.95, "over thick strings, with the lowest open, the index hangs at the first fret"
        ),
        "little finger spared": Cost(
            0.65, "the little finger is the weakest, and three strings do not need it"
        ),
        "stretch": Cost(0.2, "neighbouring fingers 10 mm further apart than they hang"),
        "fingers spread": Cost(
            0.5, "fingers two frets and more apart that hang closer have to be forced there"
        ),
        "middle and ring spread": Cost(0.8, "these two share a tendon and part least of all"),
        "far across": Cost(0.6, "one finger reaches over four strings past its neighbour"),
        "skipped in one fret": Cost(1.25, "a finger left out between two in one fret is in their way"),
        "skipped in neighbouring frets": Cost(
            0.8, "a finger left out between two neighbouring frets is squeezed there"
        ),
        "index and another apart in one fret": Cost(
            0.2, "with a string between them a higher finger has to come down through the gap"
        ),
        "index and middle side by side": Cost(
            0.95, "with a third finger further up, the middle finger has to be drawn back to the index"
        ),
        "three tips at the rim": Cost(
            1.4, "three tips in a row down to the highest string turn the wrist further than one flat finger"
        ),
        "barre for three strings": Cost(1.0, "with another finger down for the third, fingertips would do"),
        "ring close to the barre": Cost(0.6, "a long finger bent to the fret beside the barre"),
        "little close to the barre": Cost(
            0.55, "the hand folds up to bring the little finger beside the barre"
        ),
        "ring at the rim over a barre": Cost(
            0.7, "there the little finger falls into place and the ring finger slants"
        ),
        "little far behind the barre": Cost(
            0.8, "the little finger three frets up on a string lower than the barre pulls it off"
        ),
        "muted under a barre": Cost(
            0.95, "a string under a flat finger sounds unless another finger stops it"
        ),
        "open beside a barre": Cost(1.8, "the flat finger's end damps the open string next to it"),
        "middle barre": Cost(1.3, "the middle finger lies flat only by force"),
        "ring barre": Cost(1.85, "the ring finger lies flat with a bent last joint"),
        "little barre": Cost(1.05, "the little finger lies flat over a few strings, but is weak"),
        "little barre off the rim": Cost(
            1.3, "it lies flat with ease only on the highest strings, three frets up"
        ),
        "little barre bent": Cost(0.4, "so close to the first finger it cannot lie flat without bending"),
        "barre in the first finger's fret": Cost(1.1, "two fingers want the same room behind one fret"),
        "long barre off its fret": Cost(
            1.25, "three strings under a finger that is not at its own fret of the hand's four"
        ),
        "middle beside a ring barre": Cost(
            1.2, "the flat ring finger pulls the middle finger out of their common fret"
        ),
        "barre stops short": Cost(0.3, "the strings above the flat finger have to stay clear of it"),
        "higher fret behind a barre": Cost(
            0.9, "a finger further up on a lower string has to reach around the flat one"
        ),
    }
)
"""For holding some frets. Reasons are common practice, no published source; the tuned weights come from the
fit in tests/benchmarks/fingering.py."""

MOVE_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "own mover": Cost(1.0, "a finger that moves on its own is a movement to think of"),
        "block": Cost(1.0, "fingers that keep their pattern are one movement, however many they are"),
        "guide": Cost(0.4, "a finger that keeps to its string slides there and finds its place by touch"),
        "reach": Cost(0.3, "one bit of Fitts's index of difficulty, for a finger on its way"),
        "added": Cost(1.0, "a finger from the air is one to land, but can wait above its place"),
        "leaving": Cost(0.2, "a finger only has to let go"),
        "anchor": Cost(-0.3, "a finger that stays tells each finger that lands where it is"),
        "regrip": Cost(0.8, "with every finger in the air the hand has lost its place"),
        "barre landing": Cost(1.4, "laying a finger flat turns the hand and wants pressure at once"),
        "barre string": Cost(0.5, "each string more that a finger comes to lie on must sound at once"),
        "barre carried": Cost(0.6, "a finger that lies flat keeps its form along the neck, not its pressure"),
        "travel": Cost(1.2, "one bit of Fitts's index of difficulty, for the hand along the neck"),
    }
)
"""For a change between two shapes; the reasons are common practice, no published source, but for the law of
travel (see pairs.py)."""

ROUTE_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "shape": Cost(1.2, "what speaks against a shape by itself speaks in a song each time it comes"),
        "hold": Cost(0.5, "what is hard to hold is hard to land and tires over a song"),
        "finger": Cost(0.8, "each finger that the frets ask for is one more to land"),
        "fret up the neck": Cost(1.0, "songs are strummed in the first frets, where the neck is known"),
        "string not played": Cost(1.3, "each string left out has to be missed by the strum and is not heard"),
        "nothing rings on": Cost(0.6, "without an open string all is silent while the hand moves"),
        "unusual": Cost(1.0, "another fingering than the usual has to be learnt beside it"),
        "untaught": Cost(4.0, "a fingering that no teacher shows saves a movement and costs ease or tone"),
    }
)
"""For a chord on a route, beside its fingering and the changes (common practice, no published source)."""

SEARCH_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "hold": Cost(0.4, "one unit of the fingering's cost: what is easier to hold is shown first"),
        "fret spanned": Cost(0.35, "a chord under a closed hand is heard and seen as one grip"),
        "four frets spanned": Cost(1.95, "beyond a finger a fret the hand gives up its place"),
        "fret along the neck": Cost(0.12, "a player looks near the nut first"),
        "beyond the octave": Cost(
            0.65, "from the twelfth fret all comes again, where few necks let a hand in"
        ),
        "silent string": Cost(0.5, "a string that does not sound has to be missed or damped, and is missed"),
        "string skipped": Cost(1.2, "a silent string amid sounding ones is hard to keep silent"),
        "string skipped beside the bass": Cost(0.45, "the finger on the bass damps the string beside it"),
        "string left out above": Cost(0.6, "a strum runs over the high strings: stopping short takes care"),
        "string beyond three of two tones": Cost(
            1.5, "a chord of root and fifth is struck on three low strings, and more or fewer say less"
        ),
        "thin sound": Cost(0.6, "for each string fewer than four"),
        "bass pressed on a high string": Cost(0.55, "a bass on the fourth string or above is a bass no more"),
        "open string": Cost(0.45, "an open string does not move with the hand: the shape is for one chord"),
        "open string far from the hand": Cost(0.2, "it rings apart from the rest in pitch and in tone"),
        "open bass left out": Cost(1.1, "the chord's own bass lies open under the hand, free of charge"),
        "open string left out above": Cost(0.95, "a chord's own open string is easier played than missed"),
        "fifth under the root": Cost(0.5, "with the root just above it the mildest of the other basses"),
        "fifth in the bass": Cost(2.6, "the ear takes the lowest note for the root"),
        "another tone in the bass": Cost(1.8, "a third or a seventh in the bass is another chord to the ear"),
        "root doubled": Cost(0.12, "a chord of many roots says little"),
        "colour doubled": Cost(0.5, "a seventh or a ninth twice drowns the rest; fifths and thirds bear it"),
        "optional colour heard": Cost(0.55, "a ninth under a written thirteenth is a tone nobody asked for"),
        "layout not in use": Cost(1.2, "a layout that players move from chord to chord is known already"),
        "form not in use": Cost(1.0, "a form that the hand takes for other chords is learnt already"),
        "grip not in use": Cost(
            0.95, "a grip that players use for this quality has been tried by many hands"
        ),
        "grip in use at fewer roots": Cost(
            0.4, "each halving of the number of roots at which players use it: the rarer, the less known"
        ),
        "fret along a neck without known grips": Cost(0.15, "no known grip leads the hand up the neck there"),
        "open string on a neck without known grips": Cost(
            -0.35, "no known grip can be moved there, and an open string is a finger less"
        ),
        "form taught": Cost(
            0.0, "what is moved along the neck for the chord's kind is learnt once for all roots"
        ),
        "a string from what is taught": Cost(
            0.0, "a finger more or less on an open shape is how most others are learnt"
        ),
        "bass under what is taught": Cost(
            0.0, "a slash is read as the chord's shape with another bass under it"
        ),
        "taught first": Cost(-2.5, "the shape that every beginner learns is what the chord's name means"),
        "taught beside the first": Cost(
            -1.9, "many teachers show it too: easier, or nearer to the next chord"
        ),
        "better shape at the same place": Cost(0.15, "after one shape a player asks for another place"),
        "fret from the one asked for": Cost(2.5, "who names a fret wants to stay there"),
    }
)
"""For a shape among others of the same chord. The weights were fitted, by maximum likelihood of the
published shapes among all candidates, to the open data, each pair of root and suffix with the grips of the
others alone, and to the first shapes of the book (configs/shapes.toml), and rounded. Fitted to one half of
the pairs they found as many of the other half. tests/benchmarks/shapes.py measures."""

FIRST_COSTS: Mapping[str, Cost] = MappingProxyType(
    {
        "fret along the neck": Cost(0.9, "a name means the shape nearest to the nut"),
        "silent string": Cost(-0.3, "few strings are no drawback where they are the usual ones"),
        "string skipped": Cost(1.2, "a silent string amid sounding ones is for who looks for it"),
        "bass pressed on a high string": Cost(1.5, "the first shape has a bass"),
        "fifth under the root": Cost(1.2, "the first shape stands on its root, though the string is free"),
        "another tone in the bass": Cost(0.9, "the first shape stands on its root"),
        "colour doubled": Cost(0.3, "a seventh or a ninth is told once"),
        "form taught": Cost(-2.9, "what is moved along the neck for a kind is learnt once for all roots"),
        "a string from what is taught": Cost(
            -1.9, "a finger more or less on an open shape is how most others are learnt"
        ),
        "bass under what is taught": Cost(
            -2.2, "a slash is read as the chord's shape with another bass under it"
        ),
        "taught first": Cost(-2.5, "the shape that every beginner learns is what the chord's name means"),
    }
)
"""Beside SEARCH_COSTS, for which shape is the first, the one that is meant when a player names the chord; the
others keep their order, in which every part of the neck gets its turn. Fitted to first shapes that are common
practice (tests/data/usual_shapes.csv; no published source): tests/benchmarks/shapes.py measures."""
