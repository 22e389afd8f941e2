"""Grips in use: what players hold for each quality, drawn from open data, and what teachers show first.

The data are those of tests/data (MIT licence; source and preparation in tests/data/README.md);
`python -m tests.benchmarks.shapes --grips` writes this table again.
"""

from __future__ import annotations

GRIPS_ON_C = {
    "C": "032010*6 8aa988*4 335553*4 x32010*2 87555x*2 xxacdc~ xxacdc x35553 xaacdc x35553~ x3acdc~"
    " xx5558",
    "C/A": "x02013*2 575588 xx7988~ 575558~ xx7988 535553~",
    "C/Ab": "xbecdc 47555x",
    "C/B": "xx9988~ x22010 7aa988~ 775558~",
    "C/Bb": "x12010*2 xx8988*2 xdacdc~ 63555x",
    "C/C#": "xxb988~ xxbcdc",
    "C/D": "aaa988~ xx0010 aaa9xx aaacdc",
    "C/E": "x75588*2 caacdc~ xx2013 xxx988~ 032010 caa9xx x75588~",
    "C/Eb": "baacdc",
    "C/G": "335553*3 xaa988*3 xaacdc~ 33255x xaa988~ xx5558~ xaacdc 335553~",
    "C11": "x32311*5 x33353*5 888988*3 aaaabc*3 xxaabc~ 875566~ x33353~ x32311~ 333353",
    "C13": "333355*5 8a89a8*4 8889aa*2 857556*2 kjajai~ 8x89ax 887966~ xfeed6~ 8x89aa x32335 x35355~"
    " x32355~",
    "C6": "8x798x*5 xaacac*3 xxacac*2 x35555*2 x32210~ x3221x 877555 575585 335555 x35555~ 872288~"
    " 8ax9a8 x3221x~",
    "C69": "877788*6 xxa9aa*4 x32233*3 xaa9aa*3 xfecaa~ 8aa9aa~ 8jjjkk~ x55555 x32233~",
    "C7": "8a8988*5 335353*4 xaacbc*3 xx5556*2 x3231x*2 x32310~ x35353 875556 xxacbc x35556~ x3acbc~"
    " x32313~",
    "C7#9": "x3234x*5 xxa9bb*3 8a898b*2 8a89bb*2 x35340~ xfefdb~ xxa9bb~ x65556 8788xx 8d88bc~ 8ihhhi~"
    " 878888 875856~",
    "C7b5": "x3435x*6 xxabbc*6 xx2312*3 8x897x*2 8x8970~ 878978~ x12312 xfgfh6~ xfef5e~ x38978~ 8x8972~",
    "C7b9": "x32323*7 8786xx*3 8x8989*3 xxa9b9*2 kjkibx~ xxafec~ xgafhf~ xxa9b9~ 878686~ x45556~ x32323~",
    "C7sus4": "335363*5 8a8a88*5 xx5566*3 x33311*2 xxacbd*2 xxx566 x3331x 133311 x35363~ x33311~",
    "C9": "8a898a*5 332333*4 8787xx*2 032030~ 878788 xxa9ba~ 8a898a~ x55556 875333~ x35756~ x32333~"
    " 87878x x32333 855756",
    "C9#11": "x32332*7 xxabbc*3 x34353*2 878778*2 xxabbc~ xjahji~ x3435x 898988~ 8d8bdc~ x32332~ 87877x"
    " 8x897x",
    "C9b5": "x32332*6 878778*4 8989xa*3 xfg9fi~ 8hgfh8~ 878778~ xfg7hi~ kjk77k~ 878776~ 89895a~ 8747x6~"
    " x34756~ x32332~",
    "Cadd9": "xxa98a*8 x32030*7 x32x33*3 x32030~ 870080~ 87x78x xfhhha~ xxajhk~ xfe9ff~ x32533~ 87x788",
    "Calt": "xxabdc*4 x3455x*4 xxa978*2 87x978*2 x32552 x34550~ xfgbhe~ x32x12 xlaljk~ xfg9hx~ 89a9xx~"
    " 8fghh8~ xxab7c~ xxab5c~ xfe55e~ x3455x~ x3a978~ x3ebdc~ x34552~ 892972~ 8929x8~",
    "Caug": "x3211x*6 87655x*4 xxa998*4 xxa99x*3 x3655x*2 8ba998~ kjihh8~ 8xa99x 8xa998",
    "Caug7": "xxadbc*7 x36354*5 8x899x*5 x323x4*2 8x8990~ xfedbc~ kjixbi~ xxadbc~ 8b8998~ 878x9x 876556~"
    " 8x8994~ xfefd4~ x36354~ x36556~ x32314~",
    "Caug9": "x32334*5 87879x*4 656556*2 kjijbx~ knklbm~ kxklla~ 010110 878798~ 878796~ kxijh6~ xhi5hi~"
    " xx899a xfeff4~ x3899a~ x32334~ 8x899a",
    "Cdim": "86x87x*9 xxabxb*6 x31x12*6 x3454x*4 xxabxb~ x31x12~",
    "Cdim7": "8x787x*7 xxabab*7 x34242*3 xx4545*2 xx1212 xxabab~ x3424x 234242 86x875~ 8x7875~ xx4545~"
    " x3abab~ x34242~ 89a8a8",
    "Cm": "335543*5 8aa888*4 8655xx*3 xxdcdb*2 xxacdb*2 8655x8 xxacdb~ x6554x 8aacdb~ xaacdb 865588~"
    " x35543~ x35888~ x35543",
    "Cm/A": "565888*2 x01013",
    "Cm/Ab": "xx6543~",
    "Cm/B": "x2554x 765888 765588",
    "Cm/Bb": "xx8888*2 xx8888~ x1101x 635543~ 665888",
    "Cm/C#": "9aa888~ 9aa88b~",
    "Cm/D": "aaa88b~ aaacdb",
    "Cm/Eb": "baa888~ x65543~ x65888",
    "Cm/G": "xaa888~ xaa88b~ xaacdb xaa888 335543 365543~",
    "Cm11": "88888a*7 868766*7 x31331*5 x33343 x31311 88dcb8~ x33343~ x31331~",
    "Cm6": "xx5545*4 8x7888*3 x31213*3 8aa8a8*2 8x788x*2 xaacab*2 x35x45 8x7888~ xxacab x3524x 331213~",
    "Cm69": "xaa8aa*4 x31233*3 x3123x*3 baacaa*3 bxacaa*2 8aa8aa*2 8677xx xxa8aa 8aa8aa~ 8x788a b3acaa~"
    " x31233~",
    "Cm7": "335343*6 8a8888*6 xxacbb*3 xx5546*3 xaacbb*2 xxacbb~ 8a8888~ x31313 x3131x x35343~ x35343",
    "Cm7b5": "x3434x*6 xxabbb*5 8x887x*5 xx4546*3 89a8b8 xxabbb~ 89abbb~ 8x887x~ 8xx876",
    "Cm9": "x31333*6 8a888a*4 x68788*2 x55546*2 xx5746*2 8a888a~ 8aa8ba~ xaa7bb~ kik7kk~ 855886~ xxc5bb~"
    " 855546~ bdccdb x35746~ 86x786 x31333~",
    "Cmadd9": "xxa88a*7 x3103x*7 x31x33*2 8aa88a*2 860788~ xfhhfb~ xfhhga~ xfd7df~ xfh7gf~ 865788~ xxc5db~"
    " 86x78x xxac3b~ x6553x 86178x~",
    "Cmaj11": "889988*5 333453*4 xxaacc*2 88998a*2 x32001~ 87xx67 xxaacc~ xjahij~ kjl7i7~ xfeg6f~ x33453~"
    " x33453 x32411~",
    "Cmaj13": "x33455*7 877787*5 x32200*5 8899a8*3 x30200 xfeeca~ xca9cx~ x35455~",
    "Cmaj7": "335453*7 x32000*3 xx5557*2 x35453*2 xxaccc xxx557 xxaccc~ xaaccc 875557~ 8a9988 x3241x"
    " x35453~ x35557~ x3accc~",
    "Cmaj7#5": "x3645x*3 032100*3 xxa997*2 x32100~ xxadcc xxadcc~ xfaghg~ x324x4 8x9998 8ba9cc~ 8jihhj~"
    " 879494~ x36454~ xx6557 x32414~ 87919x~",
    "Cmaj7b5": "x3445x*9 xxabcc*6 879977*4 x32402~ 8999x8 8jlljj~ x32452 8999xx x34457~ x34557~ 8999x2~",
    "Cmaj9": "879787*3 8x998a*2 x30000*2 xxa9ca*2 x55557*2 x3243x*2 xx5757*2 8a998a*2 33243x*2 87978x*2"
    " 055557~ 8a998a~ caacca 879787~ xx998a 855557~ 879783~",
    "Cmmaj11": "333443*7 88988a*7 xaaacb*5 x31431*3 xxaacb*2 x31001~ x33443~ x31431~",
    "Cmmaj7": "x3100x*5 xaaccb*5 8a9888*4 xxaccb*3 x35443*3 335443*2 x3100x~ xxaccb~ 8aaccb~ xxa887 x65587",
    "Cmmaj7b5": "8998x8*5 xxabcb*4 x3444x*3 23444x*2 x3x442 xxabcb~ x34442~",
    "Cmmaj9": "8a988a*4 x3143x*4 aaaccb*2 x30443~ xfcccb~ xfdgfb~ ffhgfb~ 8a988a~ 8ihgf8~ xxa7cb~ 855887~"
    " xxc5cb~ 8x9748~ 86x787 86971x~",
    "Csus2": "aaacda*6 335533*3 85578x*3 8aax8a*3 xxacda~ x55588 x30013 8xx788 x3cc33~",
    "Csus4": "8aaa88*8 335563*6 xx5568*3 xaacdd*3 xx556x*2 xxacdd~ 8aaa88~ 8aacdd~ xxhhi8~ xxacdd",
}  # fmt: skip
"""For each quality on the root C the grips in the standard tuning, at their lowest place: a sign a string
from the lowest, x not played, a for the tenth fret, b for the next; `*4` where four roots have it, `~2` where
two have it with open strings for its lowest fret. Players move a grip along the neck with its chord, so it
tells nothing of the place."""

TAUGHT = {
    "C": "x32010", "D": "xx0232", "E": "022100", "G": "320003 320033", "A": "x02220",
    "Am": "x02210", "Dm": "xx0231", "Em": "022000",
    "C7": "x32310", "D7": "xx0212", "E7": "020100", "G7": "320001", "A7": "x02020 x02223", "B7": "x21202",
    "Am7": "x02010", "Dm7": "xx0211", "Em7": "020000 022030",
    "Cmaj7": "x32000", "Dmaj7": "xx0222", "Emaj7": "021100", "Fmaj7": "xx3210", "Gmaj7": "320002",
    "Amaj7": "x02120",
    "Dsus2": "xx0230", "Asus2": "x02200", "Dsus4": "xx0233", "Esus4": "022200", "Asus4": "x02230",
    "Gsus4": "330013 320013", "Csus4": "x33011", "Fsus2": "xx3011", "Esus2": "024400",
    "A7sus4": "x02030", "E7sus4": "020200", "D7sus4": "xx0213",
    "Cadd9": "x32030 x32033", "Gadd9": "320203", "Eadd9": "024100", "C/G": "332010 3x2010", "D/F#": "2x0232",
    "G/B": "x20033 x20003", "A/C#": "x42220", "G/D": "xx0003",
    "G6": "320000", "C6": "x32210", "E6": "022120", "A6": "x02222", "D6": "xx0202",
    "Am6": "x02212", "Em6": "022020", "Dm6": "xx0201", "E9": "020102", "E7#9": "x7678x 020130",
    "Eaug": "032110", "Aaug": "x03221", "Daug": "xx0332",
    "E5": "022xxx 02xxxx", "A5": "x022xx x02xxx", "D5": "xx023x",
    "F": "133211 xx3211", "Fm": "133111", "F#m": "244222", "Gm": "355333", "Bb": "x13331", "B": "x24442",
    "Eb": "x68886", "Bbm": "x13321", "Bm": "x24432 xx4432", "Cm": "x35543", "C#m": "x46654",
    "Bm7": "x24232 x20202", "Bbmaj7": "x13231",
}  # fmt: skip
"""The shapes that beginners learn for these chords, open ones and then barres: the first, and for some
another (common practice, no published source). They hold for what a capo makes of them too."""

FORMS = {
    "F": "133211", "Bb": "x13331", "Fm": "133111", "Bbm": "x13321", "F5": "133xxx", "Bb5": "x133xx",
    "F7": "131211", "Bb7": "x13131", "Eb7": "xx1323", "Fm7": "131111", "Bbm7": "x13121",
    "Fmaj7": "1x221x 132211", "Bbmaj7": "x13231", "Ebmaj7": "xx1333",
    "Fsus4": "133311", "Bbsus4": "x13341", "Bbsus2": "x13311", "F7sus4": "131311", "Bb7sus4": "x13141",
    "G6": "3x243x", "Bb6": "x13333", "Gm6": "3x233x", "Cm6": "x3124x",
    "F9": "131213", "C9": "x32333 x3233x", "Cm9": "x3133x", "Cmaj9": "x3243x", "C6/9": "x32233 x3223x",
    "G11": "3x321x", "A11": "5x543x", "G13": "3x345x", "C13": "x3235x",
    "C7#9": "x3234x", "C7b9": "x3232x",
    "Bdim": "x2343x", "F#dim7": "2x121x", "Bdim7": "x2313x", "Ebdim7": "xx1212",
    "F#m7b5": "2x221x", "Bm7b5": "x2323x", "Ebm7b5": "xx1222", "Caug": "x3211x", "Faug": "xx3221",
}  # fmt: skip
"""The forms that are moved along the neck, on the sixth string, the fifth and the fourth: what is played for
a chord that has no shape of its own by the nut (common practice, no published source)."""
