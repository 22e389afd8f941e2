"""The commands, as a table. A module is imported when one of its commands is called: `log` opens no window's
library, and `--help` loads nothing at all."""

from collections.abc import Callable
from importlib import import_module

COMMANDS = (
    ("home", "the stage, and everything on it by foot (also without any word)", "session:home"),
    ("play", "practise by foot (also without the word play)", "session:play"),
    ("run", "play a song from end to end with the stage; one press marks a miss", "session:run"),
    ("rehearse", "watch a made-up player practise; your log is not touched", "rehearsal:rehearse"),
    ("click", "write a practice track, a click of any length, to a WAV file", "tracks:click"),
    ("song", "your songs, and how ready you are for them", "songs:song"),
    ("song add", "keep a song, from a chart or MusicXML", "songs:add"),
    ("song list", "your songs", "songs:listed"),
    ("song show", "a song's chart, with the air time of each change", "songs:show"),
    ("song by", "set the day on which a song must be ready", "songs:by"),
    ("song remove", "take a song away; its takes stay in the log", "songs:remove"),
    ("song ready", "each change hardest first: how ready, and what holds it back", "readiness:ready"),
    ("song breaks", "where a song breaks, over its last ten run-throughs", "readiness:breaks"),
    ("plan", "today's practice, and the reason of each line", "readiness:plan"),
    ("track", "write a drill or a song as a MIDI or WAV track", "tracks:track"),
    ("listen", "what was late, wrong or silent in the recording of a take", "listening:listen"),
    ("log", "what was played, newest first", "record:log"),
    ("log merge", "bring other logs into this one", "upkeep:merge"),
    ("log check", "look into a log; repair it into a new one", "upkeep:check"),
    ("progress", "is practice working? dated clean tempos and a verdict", "progress:progress"),
    ("export", "write takes or clean tempos to a file", "exchange:export"),
    ("import", "bring takes from a file into the log", "exchange:bring"),
    ("player", "who plays here: list, rename, archive, export, erase", ""),
    ("player list", "everybody in the log", "players:listed"),
    ("player rename", "show a player by another name, wherever they are", "players:rename"),
    ("player archive", "hide a player from lists; nothing is lost", "players:archive"),
    ("player return", "show an archived player again", "players:back"),
    ("player export", "everything about one player in one ZIP file", "exchange:player"),
    ("player erase", "remove everything about one player, for good", "players:erase"),
    ("report", "the record as one page, to read, print or send", "report:report"),
    ("sheet", "a practice sheet to print and write on", "sheet:sheet"),
    ("pack", "for teachers and pupils: what to practise, in one file", "packs:pack"),
    ("pack new", "write an example, with comments, to start from", "packs:new"),
    ("pack export", "write a pack of your songs, your last drills and your shapes", "packs:export"),
    ("pack check", "tell every trouble in a pack, with its line", "packs:check"),
    ("pack use", "practise by a pack", "packs:use"),
    ("pack list", "the packs in use, and what they ask for", "packs:listed"),
    ("pack drop", "practise by a pack no longer; its songs and shapes stay", "packs:drop"),
    ("pack return", "write your log to a file for the teacher", "packs:back"),
    ("drills", "the kinds of drill there are, and what each is for", "drills:drills"),
    ("shape", "where to put the fingers for a chord, best first", "neck:shape"),
    ("moves", "what each finger does in a change, and what makes it hard", "neck:moves"),
    ("route", "the easiest fingerings for a whole row of chords", "neck:route"),
    ("pedals", "what can be pressed here, and what each press says, live", "pedals:pedals"),
    ("teach", "teach a pedal what it means, by pressing it", "teaching:teach"),
    ("install-icon", "put a starter among your desktop's programs", "starter:install_icon"),
    ("doctor", "see what was found here (MIDI, sound, screen, log) and measure it", "doctor:doctor"),
)
"""The words typed, what a list says of them, and the function that adds a command's options to its parser, as
"module:function"; a group may do without. `--help` lists them in this order."""


def load(where: str) -> Callable[..., object]:
    """What stands at "module:function" in this room; its module is imported now."""
    module, _, name = where.partition(":")
    found: Callable[..., object] = getattr(import_module(f"{__name__}.{module}"), name)
    return found
