package references

// Page is what a score shows, as it is written: repeats not unfolded, ties not joined, with its rests,
// clefs and words. What is played is in the rest of the [Reference].
type Page struct {
	Bars []PageBar
}

// PageBar is one written bar of all staves. Times within count from its start.
type PageBar struct {
	Number string   // as printed
	Length Quarters // as long as what is in it
	Skip   Quarters // of an upbeat or the rest of a cut bar: how far into the full bar it starts
	Meter  Meter    // that holds
	Symbol string   // of the time signature: "common", "cut", or "" for figures
	Added  bool     // the time signature is hidden, or not one plain fraction for all staves
	Fifths int      // of the key signature at the start of the bar
	Mode   string   // that the score names: "major", "minor", others, or "" for none
	Custom bool     // the key signature is hidden, or not one plain number of sharps or flats for all staves
	Signs  BarSigns

	Notes      []Printed   // in the order of the score: voice by voice
	Directions []Directive // by place
}

// Value is how a note or rest looks: its type in quarters (4 a semibreve, 1/2 a quaver), dots, and the
// tuplet it stands in: 3 in the time of 2. Type is zero where the score does not say.
type Value struct {
	Type           Quarters
	Dots           int
	Actual, Normal int // 0 outside of tuplets
}

// Printed is one printed note or rest.
type Printed struct {
	ID            string
	Onset, Length Quarters
	Pitch         Pitch // as written, which is as it sounds but for transposing instruments; zero for a rest
	Rest          bool
	WholeBar      bool // a rest for the whole bar, whatever the bar's length
	Value         Value
	Hand          Hand // that of its staff
	Staff         int  // over all staves, 0 the highest
	Voice         string
	Clef          ClefSign // that holds where it stands
	Chord         bool     // shares its stem with the note before
	Grace, Hidden bool     // Hidden: not printed, printed small, or a quarter-tone that no key sounds
	Accidental    string   // printed before it: "sharp", "flat", "natural"; empty for none
	TieStart      bool
	TieStop       bool
	SlurStart     bool
	SlurStop      bool
	Marks         []string // what stands over it, by the names of MusicXML: "staccato", "fermata", "trill-mark", "arpeggiate"
}

// ClefSign is a clef.
type ClefSign struct {
	Sign string // "G", "F", "C"; others, or "" for none, as in MusicXML
	Line int    // from the bottom
	Up   int    // octaves that an 8 at the clef moves it
}

// Directive is a word or sign that stands at one place of a bar.
type Directive struct {
	Kind  string // the element of MusicXML: "words", "dynamics", "wedge", "pedal", "octave-shift", "metronome", "segno", "coda"
	Text  string // the words; "mf"; "crescendo", "start", "stop"; "quarter. = 60"
	At    Quarters
	Staff int // it stands at, over all staves
}
