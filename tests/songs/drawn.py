"""Charts for hypothesis as players write them: sections of several names, repeats, endings, times, jumps."""

from hypothesis import strategies as st

NAMES = ("A", "a", "B", "Verse 1", "verse 1", "Verse 2", "Chorus", "CHORUS", "Bridge", "Coda", "Gate")
HEADINGS = ("[{}]", "[{}] x2", "[{} 3x]", "[{}] (2x)", "[{}] - 2x", "{}:", "{} (x2):", "<{}> x2", "{} x2")
CHORDS = ("C", "G", "Am", "F#m7", "Bb", "D", "dm", "G/B", ">E", "A<", "N.C.", "C*", "E(muted)", "(G)", "D C")
BARS = (*CHORDS, "C / G /", "Am . . -", "G:2 D", "C / /B /", "[F] [C]", "%", "G x / D")
TIMES = ("", "", "", "x2", "(x3)", "2x", "4 times", "(play 2 times)")
JUMPS = ("D.C.", "(D.C. al Fine)", "D.S. al Coda", "DC al Coda")
SIGNS = (*JUMPS, "Fine", "(Fine)", "To Coda", "⊕", "Segno", "𝄋", "Coda")
HEADERS = ("title: Low Boat", "tempo: 90", "3/4", "120 bpm", "key: D", "capo: 2", "gap: muted", "Capo on 3")
BETWEEN = (
    "tempo: 80",
    "metre: 2/4",
    "gap: instant",
    "pattern: D - D U",
    "x2",
    "(Repeat Chorus)",
    "B",
    "(A) x2",
    "la la",
)
ENDINGS = (("|1", "|1.", "|[1", "| 1st time:"), BARS, (":|2", ":|\n|2.", ":| 2nd time:"), BARS)


def line_of(bars: list[str]) -> str:
    return f"| {' | '.join(bars)} |"


some_bars = st.lists(st.sampled_from(BARS), min_size=1, max_size=4).map(line_of)
lines = st.one_of(
    st.builds("{} {}".format, some_bars, st.sampled_from(TIMES)),
    st.builds("|: {} :| {}".format, some_bars.map(lambda line: line[1:-1]), st.sampled_from(TIMES)),
    st.builds("|: {} {} {} {} {}".format, *map(st.sampled_from, (BARS, *ENDINGS))),
    st.builds("{} {}".format, some_bars, st.sampled_from(SIGNS)),
    st.builds("{} {}".format, st.sampled_from(SIGNS), some_bars),
    st.builds("   ".join, st.lists(st.sampled_from(("G", "Am", "D7", "C/E", "F")), min_size=2, max_size=4)),
    st.sampled_from((*BETWEEN, *SIGNS, "here are words of it")),
)
HUMMED = (
    "la la la",
    "here are words of it",
    "Am I late",
    "A boat goes by",
    "hold me now (x2)",
    "oh - oh - oh",
    "",
)
LOOSE = (
    "G   Em  C",
    "C  am  G",
    "F - C - G",
    "D7, G",
    "G / / / D / / /",
    "Em G x2",
    "(A  E)",
    "G-D-Em",
    "N.C.  E",
)
AMONG = ("[G]Down the [D/F#]road", "where [am]nobody [C]waits", "[Em]Hey, [F*]hey x2", "(G)La (D)la", "[C]")
ALONE = ("x2", "(Repeat Chorus)", "Chorus", "Intro E A", "D.C.", "Fine")
loose_lines = st.sampled_from((*HUMMED, *LOOSE, *LOOSE, *AMONG, *ALONE))


def charts_of(some_lines: st.SearchStrategy[str], first: str) -> st.SearchStrategy[str]:
    """Charts of such lines, some of them in sections, behind headers and a first line."""
    sections = st.builds(
        lambda heading, name, some: "\n".join([heading.format(name), *some]),
        st.sampled_from(HEADINGS),
        st.sampled_from(NAMES),
        st.lists(some_lines, max_size=3),
    )
    return st.builds(
        lambda heads, some: "\n".join([*dict.fromkeys(heads), first, *some]) + "\n",
        st.lists(st.sampled_from(HEADERS), max_size=2),
        st.lists(sections | some_lines, min_size=1, max_size=5),
    )


charts = charts_of(lines, "| C | G |") | charts_of(loose_lines, "C   G")
"""Most of them are read, some are refused."""
