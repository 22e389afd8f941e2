"""Songs: bars of chords from charts and MusicXML, and the changes in them. Pure but for the shelf."""
