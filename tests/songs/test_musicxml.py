"""Scores: what the standard lets a writer say, and files that nobody should have to trust."""

import io
import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedaltrainer.errors import InputError
from pedaltrainer.songs import score_files
from pedaltrainer.songs.chart import parse_chart
from pedaltrainer.songs.musicxml import read_musicxml
from pedaltrainer.songs.play_order import Signs, play_order
from pedaltrainer.songs.song import NO_CHORD, Song
from pedaltrainer.songs.writing import write_chart

REST = "<note><rest/><duration>{}</duration></note>"
WHOLE = REST.format(4)
FOUR_FOUR = (
    "<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>"
)


def harmony(step: str, kind: str = "major", inside: str = "") -> str:
    return f"<harmony><root><root-step>{step}</root-step></root><kind>{kind}</kind>{inside}</harmony>"


def part(*measures: str, name: str = "P1") -> str:
    body = "".join(
        measure if measure.startswith("<measure") else f'<measure number="{number}">{measure}</measure>'
        for number, measure in enumerate(measures, start=1)
    )
    return f'<part id="{name}">{body}</part>'


def score(*parts: str) -> str:
    return f'<?xml version="1.0"?><score-partwise version="4.0">{"".join(parts)}</score-partwise>'


@pytest.fixture
def read(tmp_path: Path) -> Callable[[str | bytes], Song]:
    def read(data: str | bytes) -> Song:
        path = tmp_path / "low water.xml"
        path.write_bytes(data.encode() if isinstance(data, str) else data)
        return read_musicxml(path)

    return read


@pytest.fixture
def refusal(read: Callable[[str | bytes], Song]) -> Callable[[str | bytes], str]:
    def refusal(data: str | bytes) -> str:
        with pytest.raises(InputError) as caught:
            read(data)
        message = str(caught.value)
        assert "low water.xml" in message
        assert message.endswith(".")
        assert "\n" not in message
        return message

    return refusal


Read = Callable[[str | bytes], Song]
Refusal = Callable[[str | bytes], str]


def bars(song: Song) -> list[str]:
    return [" ".join(slot.chord or str(slot.mark) for slot in bar.slots) for bar in song.bars]


def test_a_pickup_is_a_short_bar(read: Read) -> None:
    pickup = (
        f'<measure number="0" implicit="yes">{FOUR_FOUR}{harmony("D", "dominant")}{REST.format(1)}</measure>'
    )
    song = read(score(part(pickup, harmony("G") + WHOLE)))
    assert bars(song) == ["D7", "G"]
    assert [bar.beats for bar in song.bars] == [1, 4]


def test_a_pickup_of_half_a_beat_comes_after_half_a_beat_of_rest(read: Read) -> None:
    attributes = FOUR_FOUR.replace("<divisions>1<", "<divisions>2<")
    pickup = f'<measure number="0" implicit="yes">{attributes}{harmony("D")}{REST.format(1)}</measure>'
    song = read(score(part(pickup, harmony("G") + REST.format(8))))
    assert bars(song) == ["- D", "G"]
    assert song.bars[0].beats == 1


def test_a_bar_of_chords_without_notes_is_whole(read: Read) -> None:
    chords = harmony("C") + "<forward><duration>2</duration></forward>" + harmony("G")
    assert bars(read(score(part(FOUR_FOUR + chords, harmony("F"))))) == ["C G", "F"]


def test_a_bar_longer_than_its_metre_has_as_many_beats_as_it_needs(read: Read) -> None:
    song = read(score(part(FOUR_FOUR + harmony("C") + REST.format(5) + harmony("G") + REST.format(1))))
    assert bars(song) == ["C / / / / G"]
    assert song.bars[0].beats == 6


def test_a_bar_repeat_sign_has_the_chords_of_the_bar_before(read: Read) -> None:
    def repeat(kind: str) -> str:
        sign = f'<measure-repeat type="{kind}" slashes="1">{"1" if kind == "start" else ""}</measure-repeat>'
        return f"<attributes><measure-style>{sign}</measure-style></attributes>{WHOLE}"

    first = FOUR_FOUR + harmony("C") + REST.format(2) + harmony("F") + REST.format(2)
    song = read(score(part(first, repeat("start"), WHOLE, repeat("stop"))))
    assert bars(song) == ["C F", "C F", "C F", "/"]


def test_an_offset_moves_a_chord_within_its_bar(read: Read) -> None:
    late = harmony("F", inside="<offset>3</offset>")
    assert bars(read(score(part(FOUR_FOUR + harmony("C") + late + WHOLE)))) == ["C / / F"]


def test_voices_written_over_one_another_do_not_lengthen_the_bar(read: Read) -> None:
    backup = "<backup><duration>4</duration></backup><forward><duration>2</duration></forward>"
    song = read(score(part(FOUR_FOUR + harmony("C") + WHOLE + backup + harmony("F") + REST.format(2))))
    assert bars(song) == ["C F"]
    assert song.bars[0].beats == 4


# Kinds and degrees: the standard's own words for them; the symbols are common practice.
@pytest.mark.parametrize(
    ("kind", "degrees", "symbol"),
    [
        ('<kind text="m7">minor-seventh</kind>', [], "Am7"),
        ('<kind text="7">dominant</kind>', [(9, 1, "add")], "A7#9"),
        ("<kind>dominant</kind>", [(5, -1, "alter"), (9, -1, "add")], "A7b5b9"),
        ("<kind>major</kind>", [(9, 0, "add")], "Aadd9"),
        ("<kind>major</kind>", [(5, -1, "alter")], "A(b5)"),
        ("<kind>major</kind>", [(5, 0, "add")], "A"),
        ("<kind>dominant-13th</kind>", [(11, 1, "alter")], "A13#11"),
        ("<kind>minor</kind>", [(5, 0, "subtract")], "Amno5"),
        ('<kind text="7alt">other</kind>', [], "A7alt"),
        ('<kind text="">power</kind>', [], "A5"),
        ("<kind>none</kind>", [], NO_CHORD),
        ('<kind text="N.C.">other</kind>', [], NO_CHORD),
    ],
)
def test_kinds_and_degrees(read: Read, kind: str, degrees: list[tuple[int, int, str]], symbol: str) -> None:
    written = "".join(
        f"<degree><degree-value>{value}</degree-value><degree-alter>{alter}</degree-alter>"
        f"<degree-type>{type_}</degree-type></degree>"
        for value, alter, type_ in degrees
    )
    chord = f"<harmony><root><root-step>A</root-step></root>{kind}{written}</harmony>"
    assert bars(read(score(part(FOUR_FOUR + chord + WHOLE)))) == [symbol]


def test_accidentals_and_a_bass(read: Read) -> None:
    chord = (
        "<harmony><root><root-step>B</root-step><root-alter>-1</root-alter></root><kind>minor</kind>"
        "<bass><bass-step>D</bass-step><bass-alter>-1.0</bass-alter></bass></harmony>"
    )
    assert bars(read(score(part(FOUR_FOUR + chord + WHOLE)))) == ["Bbm/Db"]


def test_a_chord_that_cannot_be_read_is_passed_over_and_told(read: Read, refusal: Refusal) -> None:
    song = read(score(part(FOUR_FOUR + harmony("C") + WHOLE, harmony("F", "Tristan") + WHOLE)))
    assert bars(song) == ["C", "/"]
    assert song.told == ("Measure 2: the chord “FTristan” cannot be read, and is passed over.",)
    assert "can be read" in refusal(score(part(FOUR_FOUR + harmony("F", "Tristan") + WHOLE)))


def test_a_kind_that_is_not_known_is_read_by_its_text(read: Read) -> None:
    chord = "<harmony><root><root-step>A</root-step></root><kind text='7sus4'>other</kind></harmony>"
    assert bars(read(score(part(FOUR_FOUR + chord + WHOLE)))) == ["A7sus4"]


def test_a_chord_keeps_the_name_that_its_writer_gave_it_where_its_notes_agree(read: Read) -> None:
    def named(text: str, kind: str, degrees: str = "") -> str:
        kind = f"<kind text='{text}'>{kind}</kind>"
        return f"<harmony><root><root-step>C</root-step></root>{kind}{degrees}</harmony>"

    ninth = (
        "<degree><degree-value>9</degree-value><degree-alter>0</degree-alter>"
        "<degree-type>add</degree-type></degree>"
    )
    for chord, symbol in (
        (named("69", "major-sixth", ninth), "C69"),
        (named("M7", "major-seventh"), "CM7"),
        (named("7", "minor-seventh"), "Cm7"),
    ):
        assert bars(read(score(part(FOUR_FOUR + chord + WHOLE)))) == [symbol]


def test_the_first_part_with_chords_is_read_and_the_tempo_of_any(read: Read) -> None:
    tempo = '<direction><sound tempo="72"/></direction>'
    voice = part(FOUR_FOUR + tempo + WHOLE, '<sound tempo="60"/>' + WHOLE, name="P1")
    guitar = part(FOUR_FOUR + harmony("C") + WHOLE, harmony("F") + WHOLE, name="P2")
    other = part(FOUR_FOUR + harmony("D", "Tristan") + WHOLE, WHOLE, name="P3")
    song = read(score(voice, guitar, other))
    assert bars(song) == ["C", "F"]
    assert [bar.tempo_bpm for bar in song.bars] == [72, 60]


def test_a_metronome_mark_without_a_sound_is_the_tempo(read: Read) -> None:
    mark = (
        "<direction><direction-type><metronome><beat-unit>eighth</beat-unit><beat-unit-dot/>"
        "<per-minute>c. 120</per-minute></metronome></direction-type></direction>"
    )
    # 120 dotted eighths a minute are 90 quarters.
    assert read(score(part(FOUR_FOUR + mark + harmony("C") + WHOLE))).bars[0].tempo_bpm == 90


def test_a_score_by_measures_is_read_like_one_by_parts(read: Read) -> None:
    first = f'<part id="P1">{FOUR_FOUR}{harmony("C")}{WHOLE}</part>'
    second = f'<part id="P1">{harmony("F")}{WHOLE}</part>'
    measures = f'<measure number="1">{first}</measure><measure number="2">{second}</measure>'
    assert bars(read(f"<score-timewise>{measures}</score-timewise>")) == ["C", "F"]


def test_rehearsal_marks_begin_sections_and_the_title_is_the_works(read: Read) -> None:
    mark = "<direction><direction-type><rehearsal>B</rehearsal></direction-type></direction>"
    title = "<work><work-title>Low\n Water</work-title></work><movement-title>No. 1</movement-title>"
    song = read(score(title, part(FOUR_FOUR + harmony("C") + WHOLE, mark + harmony("F") + WHOLE)))
    assert song.title == "Low Water"
    assert [section.name for section in song.sections] == ["", "B"]


def test_a_score_without_a_title_is_called_as_its_file(read: Read) -> None:
    assert read(score(part(FOUR_FOUR + harmony("C") + WHOLE))).title == "low water"


@pytest.mark.parametrize(
    "jump",
    [
        '<direction><sound dacapo="yes"/></direction>',
        "<direction><direction-type><words>D.C. al Fine</words></direction-type></direction>",
        '<direction><direction-type><words>D.C.</words></direction-type><sound dacapo="yes"/></direction>',
    ],
)
def test_a_jump_is_followed_by_its_sound_and_by_its_words(read: Read, jump: str) -> None:
    fine = '<direction><direction-type><words>Fine</words></direction-type><sound fine="yes"/></direction>'
    bars_of = (FOUR_FOUR + harmony("C") + WHOLE + fine, harmony("G") + WHOLE + jump)
    assert bars(read(score(part(*bars_of)))) == ["C", "G", "C"]


SEGNO, CODA = ("<direction-type><segno/></direction-type>", "<direction-type><coda/></direction-type>")


FINGERED = "the chords are taken for those you finger"


def bar_of(step: str, before: str = "", after: str = "") -> str:
    return f"{before}{harmony(step)}{WHOLE}{after}"


def sign(sound: str = "", drawn: str = "") -> str:
    return f"<direction>{drawn}{f'<sound {sound}/>' if sound else ''}</direction>"


@pytest.mark.parametrize(
    ("measures", "played", "told"),
    [
        (  # to the segno that is named
            [
                bar_of("C", sign('segno="1"', SEGNO)),
                bar_of("D", sign('segno="2"', SEGNO)),
                bar_of("E", after=sign('dalsegno="2"')),
            ],
            "CDEDE",
            ["Measure 1: the Segno is passed over."],
        ),
        (  # to no segno
            [bar_of("C"), bar_of("D", after=sign('dalsegno="x"')), bar_of("E")],
            "CDCDE",
            ["Measure 1: there is no segno for the D.S., which goes back to the beginning."],
        ),
        (  # two jumps
            [bar_of("C"), bar_of("D", after=sign('dacapo="yes"')), bar_of("E", after=sign('dacapo="yes"'))],
            "CDCDE",
            ["Measure 3: the D.C. is passed over."],
        ),
        (  # to the coda that is named
            [
                bar_of("C", after=sign('tocoda="b"')),
                bar_of("D", after=sign('dacapo="yes"')),
                bar_of("E", sign('coda="a"')),
                bar_of("F", sign('coda="b"', CODA)),
            ],
            "CDCF",
            ["Measure 3: the Coda is passed over.", "Measure 3: it is never played."],
        ),
        (  # drawn alike where the coda is left for and where it is
            [
                bar_of("C", after=sign(drawn=CODA)),
                bar_of("D", after=sign('dacapo="yes"')),
                bar_of("E", sign(drawn=CODA)),
            ],
            "CDCE",
            [],
        ),
        (  # drawn at the beginning of the measure that is left out
            [
                bar_of("C"),
                bar_of("D", sign(drawn=CODA), sign('dacapo="yes"')),
                bar_of("E", sign(drawn=CODA)),
            ],
            "CDCE",
            [],
        ),
        ([bar_of("C", after=sign('fine="yes"'))], "C", ["Measure 1: the Fine is passed over."]),
    ],
)
def test_signs_lead_where_they_say_and_what_is_passed_over_is_told(
    read: Read, measures: list[str], played: str, told: list[str]
) -> None:
    song = read(score(part(FOUR_FOUR + measures[0], *measures[1:])))
    assert bars(song) == list(played)
    assert list(song.told) == told


@pytest.mark.parametrize(
    ("inside", "key", "capo", "told"),
    [
        ("<key><fifths>2</fifths><mode>major</mode></key>", "D", 0, ""),
        ("<key><fifths>-3</fifths><mode>minor</mode></key>", "Cm", 0, ""),
        ("<key><fifths>-1</fifths></key>", "F", 0, "taken for F major, for its mode is not written"),
        ("<key><fifths>0</fifths><mode>dorian</mode></key>", "", 0, "the key (dorian) is not kept"),
        ("<key><key-step>D</key-step><key-alter>-1</key-alter></key>", "", 0, "not a usual one"),
        ("<staff-details><capo>3</capo></staff-details>", "", 3, "fret 3; the chords are taken for those"),
        ("<staff-details/>", "", 0, ""),
        ("<transpose><chromatic>-2</chromatic></transpose>", "", 0, "sounds 2 semitones lower"),
        ("<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>", "", 0, ""),
    ],
)
def test_key_and_capo_are_kept_and_another_pitch_is_told(
    read: Read, inside: str, key: str, capo: int, told: str
) -> None:
    song = read(score(part(FOUR_FOUR + f"<attributes>{inside}</attributes>" + bar_of("C"), bar_of("F"))))
    assert (song.key, song.capo) == (key, capo)
    assert told in " ".join(song.told) if told else song.told == ()


@pytest.mark.parametrize(
    ("words", "chords", "capo", "told"),
    [
        ("N.C.", ["C", "N.C."], 0, ""),
        (
            "Capo 3",
            ["C", "/"],
            3,
            "Measure 2: the capo is at fret 3; the chords are taken for those you finger.",
        ),
        ("play 3 times", ["C", "/"], 0, "Measure 2: “play 3 times” is taken for words."),
        ("slowly", ["C", "/"], 0, ""),
    ],
)
def test_words_are_read_where_they_say_what_a_sign_would(
    read: Read, words: str, chords: list[str], capo: int, told: str
) -> None:
    said = f"<direction><direction-type><words>{words}</words></direction-type></direction>"
    song = read(score(part(FOUR_FOUR + bar_of("C"), said + WHOLE)))
    assert (bars(song), song.capo) == (chords, capo)
    assert song.told == ((told,) if told else ())


def test_a_change_of_key_is_told(read: Read) -> None:
    keys = [
        f"<attributes><key><fifths>{one}</fifths><mode>major</mode></key></attributes>" for one in (0, 0, 1)
    ]
    song = read(score(part(FOUR_FOUR + keys[0] + bar_of("C"), keys[1] + bar_of("F"), keys[2] + bar_of("G"))))
    assert song.key == "C"
    assert song.told == ("Measure 3: the key changes to G; the song's is C.",)


def test_a_song_from_a_score_is_a_chart_that_reads_the_same(read: Read) -> None:
    song = read(
        score(part(FOUR_FOUR + WHOLE, harmony("C") + REST.format(3) + harmony("G") + REST.format(1), WHOLE))
    )
    assert parse_chart(write_chart(song), "again.chart") == song


ONE, TWO, THREE = frozenset({1}), frozenset({2}), frozenset({3})


# How repeats and voltas are played: the common rule of music notation.
@pytest.mark.parametrize(
    ("signs", "played"),
    [
        ([Signs(), Signs()], [0, 1]),
        ([Signs(), Signs(backward=2), Signs()], [0, 1, 0, 1, 2]),
        ([Signs(), Signs(forward=True, backward=3), Signs()], [0, 1, 1, 1, 2]),
        ([Signs(forward=True), Signs(endings=ONE, backward=2), Signs(endings=TWO), Signs()], [0, 1, 0, 2, 3]),
        (
            [Signs(), Signs(endings=ONE | TWO, backward=2), Signs(endings=THREE), Signs(backward=2)],
            [0, 1, 0, 1, 0, 2, 3, 3],
        ),
        (
            [Signs(), Signs(endings=ONE, backward=2), Signs(endings=TWO, backward=2), Signs(endings=THREE)],
            [0, 1, 0, 2, 0, 3],
        ),
        ([Signs(), Signs(endings=ONE, backward=2), Signs()], [0, 1, 0, 2]),
        ([Signs(backward=2), Signs(), Signs(backward=2)], [0, 0, 1, 2, 1, 2]),
    ],
)
def test_repeats_and_endings_are_played_out(signs: list[Signs], played: list[int]) -> None:
    assert play_order(signs, 100) == played


@given(
    st.lists(st.builds(Signs, st.booleans(), st.integers(0, 3), st.frozensets(st.integers(1, 4), max_size=2)))
)
def test_any_signs_come_to_an_end(signs: list[Signs]) -> None:
    order = play_order(signs, 500)
    assert order is None or set(order) <= set(range(len(signs)))


def test_repeats_without_end_are_refused(refusal: Refusal) -> None:
    again = '<barline><repeat direction="backward" times="9999"/></barline>'
    assert "2,000 bars" in refusal(score(part(FOUR_FOUR + harmony("C") + WHOLE + again)))


@pytest.mark.parametrize(
    ("data", "word"),
    [
        ("", "not well-formed"),
        ("<score-partwise><part>", "not well-formed"),
        ("| Am | G |", "not well-formed"),
        ("<?xml version='1.0' encoding='no-such'?><a/>", "not well-formed"),
        ("<svg/>", "no MusicXML score"),
        ("<score-partwise/>", "no chord symbols"),
        (score(part(FOUR_FOUR + WHOLE)), "no chord symbols"),
        (score(part(FOUR_FOUR.replace(">1<", ">0<") + harmony("C") + WHOLE)), "divisions"),
        (score(part(FOUR_FOUR.replace("<beats>4", "<beats>x") + harmony("C") + WHOLE)), "metre x/4"),
        (score(part(FOUR_FOUR + harmony("C") + REST.format("nan"))), "“nan”"),
        (score(part(FOUR_FOUR + harmony("C") + REST.format("99999999"))), "longer than 32 beats"),
        (score(part('<sound tempo="1"/>' + FOUR_FOUR + harmony("C") + WHOLE)), "1 beats a minute"),
        (b"PK\x03\x04 and no more", "compressed"),
        ("<a>" * 5000 + "</a>" * 5000, "deep"),
        ("<a>" * 200_000, "deep"),
    ],
)
def test_what_is_no_score_is_told_in_one_sentence(refusal: Refusal, data: str | bytes, word: str) -> None:
    assert word in refusal(data)


def test_entities_that_grow_are_refused(refusal: Refusal) -> None:
    entities = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    bomb = f'<!DOCTYPE score-partwise [<!ENTITY e0 "ha">{entities}]><score-partwise>&e11;</score-partwise>'
    assert "not safe" in refusal(bomb)


def test_another_file_is_not_read(refusal: Refusal, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("never seen")
    outside = f'<!DOCTYPE a [<!ENTITY e SYSTEM "{secret.as_uri()}">]><score-partwise>&e;</score-partwise>'
    assert "not safe" in refusal(outside)


def test_the_doctype_that_older_scores_have_is_harmless(read: Read) -> None:
    doctype = (
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 3.1 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">'
    )
    body = score(part(FOUR_FOUR + harmony("C") + WHOLE)).replace('<?xml version="1.0"?>', doctype)
    assert bars(read(body)) == ["C"]


def test_a_score_in_utf_16_is_read(read: Read) -> None:
    body = score(part(FOUR_FOUR + harmony("C") + WHOLE)).replace('"1.0"?', '"1.0" encoding="UTF-16"?')
    assert bars(read(body.encode("utf-16"))) == ["C"]


def packed(rootfile: str, files: dict[str, bytes]) -> bytes:
    container = f'<container><rootfiles><rootfile full-path="{rootfile}"/></rootfiles></container>'
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", container)
        for name, data in files.items():
            archive.writestr(name, data)
    return memory.getvalue()


def test_a_compressed_score_is_read_where_its_container_says(read: Read) -> None:
    body = score(part(FOUR_FOUR + harmony("C") + WHOLE)).encode()
    assert bars(read(packed("in/a.xml", {"decoy.xml": b"<a/>", "in/a.xml": body}))) == ["C"]


def test_a_compressed_score_that_unpacks_without_end_is_refused(refusal: Refusal) -> None:
    bomb = packed("a.xml", {"a.xml": b" " * (score_files.LARGEST_BYTES + 1000)})
    assert len(bomb) < 100_000
    assert "unpacked, has more than 10 MB" in refusal(bomb)


def test_a_compressed_score_without_its_file_is_refused(refusal: Refusal) -> None:
    assert "compressed" in refusal(packed("../../a.xml", {"a.xml": b"<a/>"}))


def test_a_file_that_is_too_large_is_refused(refusal: Refusal, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(score_files, "LARGEST_BYTES", 1000)
    assert "has more than 0.001 MB" in refusal(" " * 1001)


def test_a_file_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        read_musicxml(tmp_path / "none.xml")


SOUND = score(part(FOUR_FOUR + harmony("C") + WHOLE, harmony("F", "dominant") + REST.format(2))).encode()


@given(st.integers(0, len(SOUND)), st.integers(0, 40), st.binary(max_size=20))
def test_a_damaged_score_is_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, at: int, length: int, put: bytes
) -> None:
    path = tmp_path_factory.mktemp("scores") / "damaged.xml"
    path.write_bytes(SOUND[:at] + put + SOUND[at + length :])
    song = read_or_refused(path)
    if song is not None:
        assert all(slot.beat < bar.beats for bar in song.bars for slot in bar.slots)
        assert parse_chart(write_chart(song), "again.chart") == song


def read_or_refused(path: Path) -> Song | None:
    try:
        return read_musicxml(path)
    except InputError as error:
        message = str(error)
    assert re.fullmatch(".*damaged.xml.*\\.", message), message
    return None
