"""Charts as players write them: our own songs, in the many spellings of the trade, and how each is meant.

Of each: the chart, the bars as they are played, and what else is wanted of the song.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

A_BAR = "Where there are no bar lines each chord lasts a bar (bars: says otherwise)."
ONE_LINE = "1 line of words is not kept."


class Written(NamedTuple):
    chart: str
    bars: str
    wanted: Mapping[str, Any] = MappingProxyType({})


CHARTS: dict[str, Written] = {
    # chords above words, among words, alone
    "chords above words": Written(
        "Low Tide\n\nG            Em\nThe lamp is on the quay\nC          D\nand all the boats are in\n",
        "G | Em | C | D",
        {"title": "Low Tide"},
    ),
    "chords above words, sections, capo": Written(
        "Title: Gravel\nCapo: 3\n\n[Verse 1]\nAm      F\nSlow is the morning\nC       G\nslow is the rain"
        "\n\n[Chorus]\nF   G   Am\nHold on\n",
        "Am | F | C | G | F | G | Am",
        {"title": "Gravel", "capo": 3},
    ),
    "two chords over one word": Written("C  G7\nHome\n", "C | G7"),
    "chords among words": Written(
        "[G]Down the [D/F#]road I [Em]go,\n[C]nobody [D]waits\n", "G | D/F# | Em | C | D"
    ),
    "chords among words, named sections": Written(
        "Verse 1:\n[C]One for the [Am]money\n\nChorus:\n[F]Sing it [G]out\n", "C | Am | F | G"
    ),
    "a small letter above words": Written("C     am   D\nand all the boats are in\n", "C | Am | D"),
    "half a bar a chord": Written("bars: 1/2\nG D Em C\nwords in here\nG D\n", "G D | Em C | G D"),
    "two bars a chord": Written("bars: 2\n[Verse]\nG C\n", "G | G | C | C"),
    "dashes between": Written("Intro: G - D - Em - C\n", "G | D | Em | C"),
    "commas between": Written("Am, F, C, G\n", "Am | F | C | G"),
    "chords and times": Written("[Verse]\nAm F C G x2\n", "Am | F | C | G | Am | F | C | G"),
    "chords and times in brackets": Written("Em G (x3)\n", "Em | G | Em | G | Em | G"),
    "words in another language": Written("D       A\nÜber dem Meer\nBm  G\nweht es kühl\n", "D | A | Bm | G"),
    "words with a chord's letter": Written("E\nA boat goes by\nA\nAm I late?\n", "E | A"),
    "windows line ends and tabs": Written("Am\tF\r\nwords\tare here now\r\nC\tG\r\n", "Am | F | C | G"),
    "no chord above words": Written("N.C.   G\nand then it comes\n", "N.C. | G"),
    "words among chords are told": Written("[G]Down the [D]road\n", "G | D", {"told": (A_BAR, ONE_LINE)}),
    "a small letter among words": Written(
        "[G]Down [am]the [D]road\n", "G | Am | D", {"told": (A_BAR, ONE_LINE, "“am” is read as Am.")}
    ),
    "strokes are beats": Written(
        "G / / / D / / /\n",
        "G / / / | D / / /",
        {"told": ("Without bar lines 4 chords and strokes are a bar.",)},
    ),
    "strokes close behind are beats": Written("time: 3/4\nG// D//\n", "G / / | D / /"),
    "two chords a bar by strokes": Written("G / D / Em / / /\n", "G / D / | Em / / /"),
    "strokes are eighths": Written("time: 6/8\nG / / C / / D / / / / /\n", "G / / C / / | D / / / / /"),
    "strokes between": Written("G / D / Em / C\n", "G | D | Em | C"),
    "times on a line, of the line": Written("G   D   C\nla la\nx2\n", "G | D | C | G | D | C"),
    "times on a line, of the section": Written(
        "[Riff]\n(3 times)\nE A\nwords here\nD\n", "E | A | D | E | A | D | E | A | D"
    ),
    "times behind words": Written(
        "G D\nhold me now (x2)\n",
        "G | D",
        {"told": (A_BAR, ONE_LINE, "“hold me now (x2)” is taken for words.")},
    ),
    "a section again, in brackets": Written(
        "Chorus:\nG D\nla la\n\nVerse:\nC\nhm\n\n(Repeat Chorus)\n", "G | D | C | G | D"
    ),
    "a section again, and more behind it": Written(
        "[Chorus]\n| G |\n[Verse]\n| C |\nRepeat the chorus x2\n| D |\n", "G | C | G | G | D"
    ),
    "a section again, by its own name": Written("[Gate]\n| G |\n[Verse]\n| C |\nGate x2\n", "G | C | G | G"),
    "names without brackets": Written(
        "Low Boat\n\nVerse 1\nG     D\nall the boats\n\nChorus (x2)\nC   G\nhey\n",
        "G | D | C | G | C | G",
        {"title": "Low Boat"},
    ),
    "chords close to dashes": Written("G-D-Em7\n", "G | D | Em7"),
    "a name and chords on a line": Written("Intro G D\nla la\nChorus x2 C F\n", "G | D | C | F | C | F"),
    "a name in brackets and chords among words": Written("[Chorus] [G]La [C]la\n", "G | C"),
    "a letter in brackets and chords": Written("[A] G D\nla\n", "G | D"),
    "later verses of words alone": Written(
        "[Verse 1]\nG D\nhey hey\n[Verse 2]\nother words\n[Chorus]\nC\n",
        "G | D | G | D | C",
        {
            "told": (
                A_BAR,
                "2 lines of words are not kept.",
                "[Verse 2] has no chords of its own: those of [Verse 1] are played.",
            )
        },
    ),
    "chords in other brackets among words": Written("(G)La la (C)la {D}lo <Em>lo\n", "G | C | D | Em"),
    "spaces in brackets": Written("[ G ]La la [ C ]la\n", "G | C"),
    "a star among words": Written(
        "[G*]La la [C]la\n", "G | C", {"told": (A_BAR, ONE_LINE, "“G*” is read as G.")}
    ),
    "a key, and letters all the same": Written("key: G\nG  C\nI\n", "G | C"),
    "names with lines round them": Written("== Verse 1 ==\n| G |\n**Chorus**\n| D |\n", "G | D"),
    "names drawn under": Written("Verse\n-----\n| G | D |\n", "G | D"),
    # lines without outer bar lines
    "a usual name before its bars": Written(
        "Intro | G | D |\nChorus x2 | C | F |\n", "G | D | C | F | C | F"
    ),
    "a final bar line": Written("| G | D |\n| C | G |]\n", "G | D | C | G"),
    "letters above bars": Written(
        "A\n| D | G |\n(B) x2\n| E | A |\nA\n",
        "D | G | E | A | E | A | D | G",
        {"told": tuple(f"“{one}” on a line of its own is read as a section's name." for one in "AB")},
    ),
    "letters with their word": Written("A part\n| D | G |\nSection B:\n| E | A |\n", "D | G | E | A"),
    "a few words below bars": Written(
        "| G        | C       |\nDown by the sea I go\n| D        | G       |\nwaiting\n",
        "G | C | D | G",
        {"told": ("2 lines of words are not kept.", "“waiting” is taken for words.")},
    ),
    "other bar lines": Written("│ G │ C ┃\n｜ D ‖ A ║\n", "G | C | D | A"),
    "no outer bar lines": Written("G | Em | C / / D | G\n", "G | Em | C / / D | G"),
    "bar line only at the end": Written("G | Em |\nC | D |\n", "G | Em | C | D"),
    "bar line only at the beginning": Written("| G | Em\n| C | D\n", "G | Em | C | D"),
    "name and bars on a line": Written("Verse: | G | C |\nChorus: | D | G |\n", "G | C | D | G"),
    "name in brackets and bars": Written("[Intro] | Em | D |\n[Verse] G | C\n", "Em | D | G | C"),
    "words between bars": Written("| G | C |\nhere the river bends again\n| D | G |\n", "G | C | D | G"),
    "double bar lines": Written("|| G | C || D | G ||\n", "G | C | D | G"),
    # repeats
    "a line twice": Written("| G | C | x2\n| D | D |\n", "G | C | G | C | D | D"),
    "a line three times, in brackets": Written("| G | C | (x3)\n", "G | C | G | C | G | C"),
    "a line twice, number first": Written("G | C 2x\n", "G | C | G | C"),
    "repeat with times behind": Written("|: G | C :| x3\n", "G | C | G | C | G | C"),
    "repeat with times in brackets": Written("|: G | C :| (x3)\n", "G | C | G | C | G | C"),
    "repeat with the number first": Written("|: G | C :| 3x\n", "G | C | G | C | G | C"),
    "repeat written close": Written("|:G|C:|\n", "G | C | G | C"),
    "square repeats": Written("[: G | C :]\n", "G | C | G | C"),
    "section twice inside": Written("[Chorus 2x]\n| F | G |\n", "F | G | F | G"),
    "section twice, x first": Written("[Chorus x2]\n| F | G |\n", "F | G | F | G"),
    "section twice, in round brackets": Written("Chorus (x2):\n| F | G |\n", "F | G | F | G"),
    "section again in small letters": Written("[Chorus]\n| F | G |\n[chorus]\n", "F | G | F | G"),
    "section again, twice": Written("[Riff]\n| A | D |\n[Riff] 2x\n", "A | D | A | D | A | D"),
    "two bars again": Written("| C | D | %% | G |\n", "C | D | C | D | G"),
    "one bar again": Written("| C | % | % | G |\n", "C | C | C | G"),
    "section twice, without a colon": Written("Chorus x2\n| F | G |\n", "F | G | F | G"),
    "section twice, in other words": Written("[Chorus] 2 times\n| F | G |\n", "F | G | F | G"),
    "section twice, behind a dash": Written("[Chorus] - 2x\n| F | G |\n", "F | G | F | G"),
    "section and its colon": Written("[Chorus]:\n| F | G |\n", "F | G"),
    "section alone on its line": Written("Bridge\n| F | G |\n", "F | G"),
    "section in pointed brackets": Written("<Verse 2> x2\n| F | G |\n", "F | G | F | G"),
    "section in curly brackets": Written("{Middle 8}\n| F | G |\n", "F | G"),
    "so many times": Written("| G | C | 4 times\n", "G | C | G | C | G | C | G | C"),
    "played so many times": Written("|: G | C :| (play 3 times)\n", "G | C | G | C | G | C"),
    "repeats with double lines and spaces": Written(
        "| A |\n||: G | C : ||\n| : D : | x3\n", "A | G | C | G | C | D | D | D"
    ),
    "bar signs": Written("| A |\n𝄆 G | C 𝄇\n", "A | G | C | G | C"),
    "the bar before, drawn": Written("| G | ./. | C | 𝄎 |\n", "G | G | C | C"),
    # endings
    "endings of two rounds": Written("|: C |1.2. D :|3. A ||\n", "C | D | C | D | C | A"),
    "endings of two rounds, added": Written("|: C |1+2 D :|3 A ||\n", "C | D | C | D | C | A"),
    "endings in words": Written("|: C | 1st time: G :| 2nd time: A |\n", "C | G | C | A"),
    "endings in words alone": Written("|: C | 1st ending G :| 2nd ending A |\n", "C | G | C | A"),
    "endings on their lines": Written("|: C | D |\n|1. G :|\n|2. A |\n", "C | D | G | C | D | A"),
    "endings, ours": Written("|: C | D |1 G :|2 A |\n", "C | D | G | C | D | A"),
    "endings with points": Written("|: C | D |1. G :|2. A |\n", "C | D | G | C | D | A"),
    "endings apart": Written("|: C | D | 1. G :| 2. A |\n", "C | D | G | C | D | A"),
    "endings in brackets": Written("|: C | D |[1 G :|[2 A |\n", "C | D | G | C | D | A"),
    "endings in whole brackets": Written("|: C | D | [1.] G :| [2.] A |\n", "C | D | G | C | D | A"),
    "endings, first and second": Written("|: C | D |1st G :|2nd A |\n", "C | D | G | C | D | A"),
    "three endings": Written("|: C | D |1 G :|2 A :|3 F |\n", "C | D | G | C | D | A | C | D | F"),
    "two rounds in the first": Written("|: C |1-2 G :|3 A |\n", "C | G | C | G | C | A"),
    "the last ending closed": Written("|: C | D |1. G :|2. A :|\n| F |\n", "C | D | G | C | D | A | F"),
    # headers
    "key, capo, time": Written(
        "title: Slack Water\nkey: D\ncapo: 2\ntime: 3/4\ntempo: 92\n| D | G |\n",
        "D | G",
        {"title": "Slack Water", "key": "D", "capo": 2, "beats": 3, "tempo_bpm": 92.0},
    ),
    "headers in capitals": Written(
        "TITLE: Slack Water\nKEY: Bm\nTEMPO: 84 BPM\nTIME: 2/4\n| Bm | A |\n",
        "Bm | A",
        {"key": "Bm", "beats": 2, "tempo_bpm": 84.0},
    ),
    "headers without colons": Written(
        "Capo 2\nKey of G\nTempo 96\n| G | C |\n", "G | C", {"capo": 2, "key": "G", "tempo_bpm": 96.0}
    ),
    "headers on a line": Written(
        "Key: Am  Capo: 2 Tempo: 120\n| Am | C |\n", "Am | C", {"key": "Am", "capo": 2, "tempo_bpm": 120.0}
    ),
    "headers on a line, by their values": Written(
        "G major, 3/4, 120 bpm\n| G | C |\n", "G | C", {"key": "G", "beats": 3, "tempo_bpm": 120.0}
    ),
    "a tempo set equal": Written("Tempo = 120\n| G | C |\n", "G | C", {"tempo_bpm": 120.0}),
    "a swing": Written("swing\n| G | C |\n", "G | C"),
    "who wrote it": Written("style: slow\nmusic: nobody\n| G | C |\n", "G | C"),
    "headers in brackets": Written("(Capo 3)\n(3/4)\nG D\nla la\n", "G | D", {"capo": 3, "beats": 3}),
    "a key set equal": Written("Key = D\n6/8 feel\n| D | G |\n", "D | G", {"key": "D", "beats": 2}),
    "a title in quotes": Written("“Low Boat”\n| D | G |\n", "D | G", {"title": "“Low Boat”"}),
    "headers by their values": Written(
        "Low Boat\n3/4\n120 bpm\n| D | G |\n", "D | G", {"title": "Low Boat", "beats": 3, "tempo_bpm": 120.0}
    ),
    "capo on a fret": Written("Capo on 3\n| G | C |\n", "G | C", {"capo": 3}),
    "capo in roman numerals": Written("Capo: III\n| G | C |\n", "G | C", {"capo": 3}),
    "capo as it is said": Written("capo: 4th fret\n| G | C |\n", "G | C", {"capo": 4}),
    "eighths a minute": Written(
        "metre: 6/8\ntempo: 1/8 = 180\n| Am | G |\n", "Am | G", {"tempo_bpm": 60.0, "beats": 2}
    ),
    "eighths a minute on a line": Written("1/8 = 180\n| Am | G |\n", "Am | G", {"tempo_bpm": 90.0}),
    "a note and a number": Written("♩ = 72\n| Am | G |\n", "Am | G", {"tempo_bpm": 72.0}),
    "bpm": Written("bpm: 128\n| Am | G |\n", "Am | G", {"tempo_bpm": 128.0}),
    "common time": Written("3/4\n| C |\ntime: common\n| G |\n", "C | G", {"beats": 4}),
    "twelve eight": Written("time: 12/8\n| E7 / / A7 |\n", "E7 / / A7", {"beats": 4}),
    "five four": Written("time: 5/4\n| Em / / C / |\n", "Em / / C /", {"beats": 5}),
    "nine eight": Written("time: 9/8\n| G C D |\n", "G C D", {"beats": 3}),
    "seven eight": Written("time: 7/8\n| Em / / / / D / |\n", "Em / / / / D /", {"beats": 7}),
    # form
    "form of letters": Written(
        "form: A A B A\nA:\n| Am | G |\nB:\n| C | F |\n", "Am | G | Am | G | C | F | Am | G"
    ),
    "form without spaces": Written("form: AABA\n[A]\n| D |\n[B]\n| G |\n", "D | D | G | D"),
    "form of names": Written(
        "[Verse]\n| D |\n[Chorus]\n| G |\nform: Verse Chorus Verse Chorus Chorus\n", "D | G | D | G | G"
    ),
    "form with a number before": Written("form: 2A B, 2xA\n[A]\n| G |\n[B]\n| D |\n", "G | G | D | G | G"),
    "form of longer names": Written(
        "form: Verse 1, Pre-Chorus, Verse 2\n[Verse 1]\n| G |\n[Verse 2]\n| D |\n[Pre-Chorus]\n| C |\n",
        "G | C | D",
    ),
    "form without one of the sections": Written(
        "form: A A B A\n[A]\n| G |\n[B]\n| D |\n[C]\n| E |\n",
        "G | G | D | G",
        {"told": ("[C] is not in the form, and is not played.",)},
    ),
    "form and times": Written(
        "form: A B\n[A] x2\n| G |\n[B]\n| D |\n",
        "G | D",
        {"told": ("The form says how often [A] is played: its x2 is passed over.",)},
    ),
    "form of small and capital letters": Written("form: a A\n[A]\n| G |\n[a]\n| D |\n", "D | G"),
    "form of numbered verses": Written(
        "form: V C V C\n[Verse 1]\n| D |\n[Chorus]\n| G |\n[Verse 2]\n| A |\n", "D | G | A | G"
    ),
    "form of initials and times": Written(
        "form: V, V, C x2\nVerse:\n| D |\nChorus:\n| G |\n", "D | D | G | G"
    ),
    # places in the key
    "numbers": Written("key: D\n| 1 | 4 | 5 | 6m |\n", "D | G | A | Bm"),
    "numbers in a line": Written("key: G\n1 4 5 6m\n", "G | C | D | Em"),
    "numbers with basses and signs": Written(
        "key: A\n| 1/3 | b7 | 4maj7 | 5sus4 |\n", "A/C# | G | Dmaj7 | Esus4"
    ),
    "roman": Written("key: C\n| I | vi | IV | V7 |\n", "C | Am | F | G7"),
    "roman in a minor key": Written("key: Am\n| i | iv | VI | V7 |\n", "Am | Dm | F | E7"),
    "roman, diminished": Written("key: F\n| I | viidim | ii7 | V |\n", "F | Edim | Gm7 | C"),
    "a place over a bass that could be a metre": Written(
        "key: C\n| 2/4 | 1 |\n", "D/F | C", {"told": ("“2/4” is read as D/F.",)}
    ),
    # slots
    "chords in brackets": Written("| [G] | [D] [C] |\n", "G | D C"),
    "commas close between": Written("| C,G | Am |\n", "C G | Am"),
    "a push": Written("| C | >G |\n", "C / / / / / / G | . / / / / / / /"),
    "a push behind": Written("| C | G< |\n", "C / / / / / / G | . / / / / / / /"),
    "a push in the bar": Written("| C >G |\n", "C / / G . / / /"),
    "a push in six eight": Written("time: 6/8\n| C | >G |\n", "C / / / / G | . / / / / /"),
    "no chord, spelt": Written("| C | (N.C.) | NC. | n.c. |\n", "C | N.C. | N.C. | N.C."),
    "beats behind the chord": Written("| G /// | C / G / |\n", "G / / / | C / G /"),
    "beats close behind": Written("| G/// | C/// |\n", "G / / / | C / / /"),
    "a bass alone": Written("| C /B | Am /G |\n", "C C/B | Am Am/G"),
    "lengths": Written("| G:2 D | G:3 D:1 |\n", "G D | G / / D"),
    "lengths of odd beats": Written("time: 3/4\n| G:2 D |\n", "G / D"),
    "small letters": Written("| am | dm7 | e7 | g/b |\n", "Am | Dm7 | E7 | G/B"),
    "unicode signs": Written("| B♭ | F♯m | E♭maj7 |\n", "Bb | F#m | Ebmaj7"),
    "a triangle and a dash": Written("| CΔ | A- | Bø |\n", "CΔ | A- | Bø"),
    "gap of one change": Written("| C / / G(instant) |\n", "C / / G", {"gaps": ["instant"]}),
    "gap of a section": Written(
        "[A]\n| C | G |\n[B]\ngap: muted\n| C | G |\n",
        "C | G | C | G",
        {"gaps": ["lifted", "muted", "muted"]},
    ),
    "pattern": Written("pattern: D - D U - U D U\n| C | G |\n", "C | G", {"pattern": "D-DU-UDU"}),
    "pattern of a section": Written(
        "[A]\n| C |\n[B]\npattern: D - - - D - - -\n| G |\n", "C | G", {"pattern": "D---D---"}
    ),
    # jumps
    "chords that could be a jump": Written("| G | D C | d c |\n", "G | D C | D C"),
    "chords that could be a jump, alone": Written("D C\n", "D | C"),
    "a jump without points": Written("| C | F | Fine\n| D C | D C al Fine\n", "C | F | D C | C | F"),
    "to the sign without points": Written("| C | Segno D | Fine | E | D S al Fine\n", "C | D | E | D"),
    "from the beginning": Written("| C | F |\n| G | C | D.C.\n", "C | F | G | C | C | F | G | C"),
    "from the beginning to the end": Written(
        "| C | F Fine |\n| G | A | D.C. al Fine\n", "C | F | G | A | C | F"
    ),
    "end behind the bar": Written("| C | F | Fine\n| G | A |\nD.C. al Fine\n", "C | F | G | A | C | F"),
    "from the sign by way of a coda": Written(
        "| C | Segno D | E To Coda | F | D.S. al Coda\n[Coda]\n| G | A |\n", "C | D | E | F | D | E | G | A"
    ),
    "signs of their own": Written(
        "| 𝄋 C | D | To Coda\n| E | DS al coda\n𝄌\n| F |\n", "C | D | E | C | D | F"
    ),
    "repeats are not taken after the jump": Written(
        "|: C | D :|\n| E | Fine\n| F | D.C. al Fine\n", "C | D | C | D | E | F | C | D | E"
    ),
    "only the last ending after the jump": Written(
        "|: C |1 D :|2 E | Fine\n| F | D.C. al Fine\n", "C | D | C | E | F | C | E"
    ),
    "a jump in brackets": Written(
        "| C | F (Fine) |\n| G | A | (D.C. al Fine)\n", "C | F | G | A | C | F", {"told": ()}
    ),
    "the coda sign": Written(
        "| C | D ⊕ |\n| E | D.C. al Coda\n⊕ | F |\n", "C | D | E | C | D | F", {"told": ()}
    ),
    "the coda sign with words": Written(
        "| Segno C | D | To Coda\n| E | D.S. al ⊕\n[Coda ⊕]\n| F |\n",
        "C | D | E | C | D | F",
        {"told": ()},
    ),
    "a second jump": Written(
        "| C | D | D.C.\n| E | Fine\n| F | D.C. al Fine\n",
        "C | D | C | D | E",
        {"told": ("The D.C. of bar 4 is passed over.", "1 bar is never played: from bar 4 on.")},
    ),
    "the repeats of a coda": Written(
        "| C | D | To Coda\n| E | D.C. al Coda\n[Coda]\n|: F |1 G :|2 A |\n|: B :| x3\n",
        "C | D | E | C | D | F | G | F | A | B | B | B",
    ),
    "the repeats behind a jump": Written("|: C :|\n| D | D.C.\n|: E :|\n", "C | C | D | C | D | E | E"),
    "signs with no part in the jump": Written(
        "[A]\n| C | Segno D |\n[B]\n| E | Fine\n| F | Fine\n| G | D.C. al Fine\n",
        "C | D | E | F | G | C | D | E",
        {"told": ("The Segno of bar 2 of [A] is passed over.", "The Fine of bar 2 of [B] is passed over.")},
    ),
    "bars that no jump leads to": Written(
        "| C | Fine\n| D | D.C. al Fine\n[Tag]\n| E | F |\n",
        "C | D | C",
        {"told": ("2 bars are never played: from bar 1 of [Tag] on.",)},
    ),
    "sections that differ in capitals, and a jump": Written(
        "[Chorus]\n| F | G |\n[chorus]\n| C | A | D.C.\n", "F | G | C | A | F | G | C | A"
    ),
    "a gap that ends at a jump": Written(
        "[A]\n| C | G |\ngap: muted\n| F | Fine\n| A | D.C. al Fine\n",
        "C | G | F | A | C | G | F",
        {"gaps": ["lifted", "muted", "muted", "lifted", "lifted", "muted"]},
    ),
    "free beats close behind": Written("| G--- | C- |\n", "G - - - | C-"),
    "held beats close behind": Written("| G... | C.. D/E |\n", "G . . . | C . . D/E"),
    "a note with a bar line": Written("| F # | B b |\n", "F", {"told": ("“| B b |” is taken for a note.",)}),
    "a jump close before its end": Written("| D | Fine\n| E | D.C.al Fine\n", "D | E | D"),
    "to the end, in other words": Written("| D | Fine\n| E | D.C. to Fine\n", "D | E | D"),
    "chords before the way to the coda": Written(
        "| G | D C To Coda | E | D.C. al Coda |\n*Coda*\n| F |\n", "G | D C | E | G | D C | F"
    ),
    "a section that is the sign": Written(
        "| A |\n[Segno]\n| D | G |\n| E | D.S.\n", "A | D | G | E | D | G | E"
    ),
    "a star": Written("| G* | D |\n", "G | D", {"told": ("“G*” is read as G.",)}),
}

REFUSED: dict[str, tuple[str, str]] = {
    "a place without a key": ("| 1 | 4 |\n", "write the key above"),
    "another name of B": ("| H | C |\n", "write B"),
    "no chord among chords": ("G  Dsx  C\nwords are here\n", "stands among chords"),
    "no chord in a bar": ("| C Gx7 |\n", "not a chord symbol"),
    "a form of what is not there": ("form: A C\n[A]\n| C |\n[B]\n| G |\n", "the form names “C”"),
    "a form that begins with no chord": ("form: B A\n[A]\n| C |\n[B]\n| / G |\n", "before any chord"),
    "a form of nothing": ("form: -\n[A]\n| C |\n", "names no section"),
    "to no sign": ("| C | D.S. |\n", "there is none; write Segno"),
    "to no coda": ("| C | To Coda\n| D | D.C. al Coda\n", "needs a Coda"),
    "the end before any bar": ("Fine\n| C | D.C. al Fine\n", "“Fine” stands before any bar"),
    "to no end": ("| C | D.C. al Fine\n", "al Fine needs a Fine"),
    "to a coda, and from where": ("| C | D.C. al Coda\n[Coda]\n| D |\n", "al Coda needs a To Coda"),
    "a sign behind all": ("| C | Segno\n", "“Segno” stands behind all bars"),
    "pushed before the beginning": ("| >C | D |\n", "before the first bar"),
    "pushed on a chord": ("| C / / / / / / D | >E |\n", "no time"),
    "lengths too long": ("| G:3 D:2 |\n", "do not make"),
    "no fret": ("capo: 30\n| C |\n", "no fret for a capo"),
    "no roman fret": ("capo: IIX\n| C |\n", "no fret for a capo"),
    "no key": ("key: X\n| C |\n", "no key"),
    "no stroke": ("pattern: D Q\n| C |\n", "no pattern"),
    "no header": ("| C |\nwobble: 3\n", "no header"),
    "no two bars before": ("| %% |\n", "two bars before"),
    "endings out of order": ("|: C |1 D :|3 E |\n", "number them in order"),
    "an ending so often": ("|: C |1 D :| x3 |2 E |\n", "as often as they say"),
    "half a bar as before": ("| G | C % |\n", "stands for whole bars"),
    "a metre in a bar": ("| G | 2/4 D | C |\n", "on a line of its own"),
    "a chord of another key": ("key: C\n| I | V/V | V |\n", "a chord of another key"),
    "an ending with nothing before it": (
        "1. | C | G |\n2. | D | A |\n",
        "the ending 1 has no bars before it",
    ),
    "places without a key": ("I V vi IV\n", "may be places in the key"),
    "strokes in brackets among words": ("[G / / /]La [C]la\n", "stands among chords in brackets"),
    "words in bars": ("| G | C |\n| Hey | you |\n", "“Hey” is not a chord symbol"),
    "a staff": ("e|---0---|\nB|---1---|\n\nG  D\n", "tablature"),
    "small letters alone": ("am  f  c  g\nwords are here too\n", "begin chords with capitals"),
    "no chord in brackets": ("down [G]the [Hx]road\n", "stands among chords in brackets"),
    "a section between bar lines": ("|| [A] G | C || [B] D ||\n", "on a line of its own"),
    "again, and not how often": ("|: G | C :| repeat 3 times\n", "how often in all"),
    "times of a line or of a section": ("[A]\n| G |\n| C |\nx2\n", "may be for the line above"),
    "times of nothing": ("x2\n| G |\n", "nothing to be played"),
    "again what is not there": ("[Verse]\nG D\n\n(Repeat Chorus)\n", "[Chorus] of line 4 has no bars"),
    "strokes that fill no bar": ("G / / D / /\n", "do not fill bars of 4"),
    "frets above a chart": ("Am: x02210\n\nAm  G\nhey now\n", "write the frets with the chord"),
    "a name among bars": ("| G |\n\nGate\n", "no header"),
}
"""Charts that stay unclear, and the mend that is said."""
