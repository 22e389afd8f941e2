"""What tapping along has told: of the sound, and of the foot. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from pedaltrainer.practice.tapping_along import FootTrial, SoundLate, Steadiness
from pedaltrainer.session.home import Errand, Leaf, LeafRow, Verb
from pedaltrainer.session.tap_along import Aim
from pedaltrainer.showing.home.how_it_goes import day_words
from pedaltrainer.showing.home.pages import do, page, play

MOST_SHOWN = 4
USUAL = "Most people are 20 to 50 ms early, and spread by 20 to 30."


def trial(words: str, aim: Aim, then: str) -> LeafRow:
    """A row that begins to tap along; after it comes the page `then`."""
    return play(words, "tap along", aim.value, then)


def sound_tapped(name: str, found: SoundLate | None, reckoned_s: float) -> Leaf:
    """How late the sound is by the foot, and whether to go by that. name: of the device."""
    again = trial("Tap once more", Aim.DELAY, "sound tapped")
    if found is None:
        words = "Too few taps, or too far apart, to tell."
        return page("sound tapped", "That did not tell", (again,), lines=(words,))
    delay_ms, within_ms = round(found.delay_s, 2) * 1000, found.within_s * 1000
    take = do(f"Take {delay_ms:.0f} ms", "take delay", f"{delay_ms:g}", "sound delay")
    keep = LeafRow(f"Keep {reckoned_s * 1000:.0f} ms", Errand(Verb.TURN, "sound delay"))
    agrees = found.agrees(reckoned_s)
    says = "That agrees with what is reckoned now." if agrees else "That is not what is reckoned now."
    return page(
        "sound tapped",
        f"{delay_ms:.0f} ms late, give or take {within_ms:.0f}",
        (keep, take, again) if agrees else (take, again, keep),
        lines=(says, f"Kept for: {name}"),
    )


def sound_watched(name: str, delay_s: float) -> Leaf:
    """How late the sound is by the eye. name: of the device."""
    take = do(f"Keep {delay_s * 1000:.0f} ms", "take delay", f"{delay_s * 1000:.0f}", "sound delay")
    again = trial("Watch once more", Aim.EYE, "sound tapped")
    return page("sound tapped", f"{delay_s * 1000:.0f} ms late", (take, again), lines=(f"Kept for: {name}",))


def broken() -> Leaf:
    """The sound broke meanwhile."""
    again = trial("Tap once more", Aim.DELAY, "sound tapped")
    return page("sound tapped", "The sound stumbled", (again,), lines=("What you tapped tells nothing.",))


# --- the foot -----------------------------------------------------------------------------


def foot(trials: Sequence[FootTrial], is_broken: bool = False) -> Leaf:
    """How steady the foot was, the newest trial first."""
    lines = [_told(one) for one in trials[:MOST_SHOWN]]
    lines = [*lines, USUAL] if lines else ["Sixteen clicks, tapped along: how steady are you?"]
    if is_broken:
        lines.insert(0, "The sound stumbled: the last one tells nothing.")
    row = trial("Tap along, 16 beats", Aim.FOOT, "foot")
    return page("foot", "Foot on the beat", (row,), lines=lines)


def foot_report(trials: Sequence[FootTrial]) -> str:
    """The last trials for the terminal."""
    return "\n".join(("Foot on the beat", *(f"  {_told(one)}" for one in trials[:MOST_SHOWN]), USUAL))


def _told(one: FootTrial) -> str:
    return f"{day_words(one.began.astimezone().date())}: {steady_words(one.found)}"


def steady_words(found: Steadiness) -> str:
    """A trial in a line: "38 ms early (29 to 47), spread 17 (12 to 28)"."""
    sign = -1 if found.mean_ms < 0 else 1
    low, high = sorted((sign * found.mean_low_ms, sign * found.mean_high_ms))
    mean = f"{sign * found.mean_ms:.0f} ms {'early' if sign < 0 else 'late'} ({low:.0f} to {high:.0f})"
    return f"{mean}, spread {found.sd_ms:.0f} ({found.sd_low_ms:.0f} to {found.sd_high_ms:.0f})"
