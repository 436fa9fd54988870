package references

// List is the requirements of one exam: its parts in order, what may be asked in each, who chooses, what
// each weighs, the limits it is marked by, and what is said of a total. It is read from TOML (ReadList).
// The built-in ones (Lists) hold what is common practice and are no exam body's: a teacher copies one
// and edits it for the syllabus they teach.
type List struct {
	Name   string
	About  string // what the list is and where it comes from, in a sentence or two
	Level  int    // 0 for a first step, to 8; questions, ear tests and sight-reading are made for it
	Limits ListLimits
	Total  []TotalWords // the highest first; the last is From 0
	Parts  []ListPart   // in the order of the exam
}

// ListLimits are the limits that a list sets for its level; what is 0 is left to the level.
type ListLimits struct {
	EvennessPercent float64 `json:"evenness_percent,omitempty"` // the SD of intervals in percent of their mean
	TogetherMS      float64 `json:"together_ms,omitempty"`      // left against right hand, root mean square
	ChordMS         float64 `json:"chord_ms,omitempty"`         // first to last note of a struck chord
	LoudnessUnits   float64 `json:"loudness_units,omitempty"`   // the SD of MIDI velocity
}

// TotalWords is what is said of a total from so many points in a hundred on.
type TotalWords struct {
	From float64 `json:"from"`
	Say  string  `json:"say"`
}

// PartKind is what sort of thing a part of an exam is.
type PartKind string

// The kinds of part, by the words a list uses for them.
const (
	RequestsPart     PartKind = "requests"
	StudiesPart      PartKind = "studies"
	PiecesPart       PartKind = "pieces"
	SightReadingPart PartKind = "sight-reading"
	QuestionsPart    PartKind = "questions"
	EarTestsPart     PartKind = "ear tests"
)

// Side is one of the two who sit at an exam.
type Side string

// The sides.
const (
	Pupil    Side = "pupil"
	Examiner Side = "examiner"
)

// ListPart is one part of a list. Which fields are used depends on Kind.
type ListPart struct {
	Kind     PartKind
	Title    string  // its heading
	Number   int     // of requests, studies, pieces, pieces to read, questions; of ear tests, len(Items)
	ChosenBy Side    // who chooses what is played, or the piece that questions are about
	Weight   float64 // its share of the total, against those of the other parts

	Pool     []ListRequest // of requests: all that may be asked, no two alike
	Loudness []Dynamic     // of requests: what is dealt out among them; empty where none is asked
	Titles   []string      // of studies and pieces: titles or paths to choose from; empty where any will do
	Items    []string      // of ear tests: beat, interval, chord, change, echo, in order
	Level    int           // of what is made fresh
	Look     int           // of sight-reading: seconds to look before playing
}

// ListRequest is one thing that may be asked, and the least speed that is looked for.
type ListRequest struct {
	Request Request // with neither loudness nor tempo
	Least   Least
}

// Least is a least speed as it is told at the piano: crotchet = 60, two notes to the beat. The zero value
// is none.
type Least struct {
	Tempo        Tempo
	NotesPerBeat int
}

// NotesPerSecond is the speed in notes, 0 where there is none.
func (l Least) NotesPerSecond() float64 { return l.Tempo.BPM * float64(l.NotesPerBeat) / 60 }
