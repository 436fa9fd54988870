package musicxml

import (
	"fmt"

	"evenhand/references"
)

// score is a score as written, before repeats are unfolded.
type score struct {
	work, movement, credit string
	concert                bool // all parts are written at sounding pitch, whatever their transpose says
	parts                  []*part
	warnings               []references.Warning
	dropped                int // warnings beyond maxWarnings
}

// maxWarnings bounds the list of what was passed over.
const maxWarnings = 200

func (s *score) warn(bar string, line int, format string, args ...any) {
	if len(s.warnings) == maxWarnings {
		s.dropped++
		return
	}
	s.warnings = append(s.warnings, references.Warning{Bar: bar, Line: line, Text: fmt.Sprintf(format, args...)})
}

// part is one <part>.
type part struct {
	id, name string
	staves   int
	first    int    // index of its first staff among the staves that are read
	clefs    []int8 // the first clef of each staff: +1 treble, -1 bass, 0 unknown
	bars     []bar
}

// bar is one <measure> of one part, and later of all parts that are read. Times count from its
// start.
type bar struct {
	number   string
	implicit bool
	line     int
	length   references.Quarters
	notes    []note
	signs    []sign
	slurs    []slurEnd
	meter    *references.Meter // where it changes
	keys     []references.KeyChange
	nav      references.BarSigns
	endStart string // numbers of an ending that starts here
	endStop  bool
	codas    []references.Quarters // bare coda signs, by place
	toSegno  string                // which sign a dal segno names
	segno    string                // the name of the sign that stands here
	page     references.PageBar    // what is printed; its notes have the staves of their part until the parts are merged
}

// note is one <note> that is struck, as written. The embedded Note has Onset and Length within the
// bar.
type note struct {
	references.Note
	part, staff, home int // staff: index among the part's; home: the staff its voice belongs to
	voice             string
	tieStart, tieStop bool
	staccato, tenuto  bool
	slurred           bool // under a slur, and not its last note
	line              int
}

// slurEnd is one end of a slur.
type slurEnd struct {
	at     references.Quarters
	part   int
	voice  string
	number string
	start  bool
	line   int
}

// signKind is what a [sign] asks for.
type signKind int8

const (
	signDynamic   signKind = iota // dynamic from here on
	signAccent                    // sforzando on what is struck here
	signHairpin                   // a wedge opens; mark tells which way
	signHairEnd                   // a wedge closes
	signWords                     // a mark in words that goes on until something ends it
	signDashesEnd                 // the dashes after words end
	signTempo
	signFermata
	signBreath
	signCaesura
	signPedalDown
	signPedalUp
	signPedalChange
	signTouch // legato, staccato or, as NoTouch, neither from here on
	signSwing
)

// sign is a direction or a notation that stands at one place of a bar.
type sign struct {
	kind    signKind
	at, to  references.Quarters // to: of a fermata, the end of what it holds
	part    int
	staff   int // index among the part's; -1 for all
	above   bool
	below   bool
	number  string
	mark    references.MarkKind
	dynamic references.Dynamic
	after   bool // of a dynamic: from the next note on (the p of fp)
	touch   references.Touch
	tempo   references.Tempo
	printed bool
	words   string
	mild    bool
	niente  bool
	hand    references.Hand // found when the parts are merged
	line    int
}

// tame keeps the fractions of a broken or hostile file small enough for exact arithmetic: beyond a
// denominator of 500,000 a place is rounded to the nearest 1/500,000 of a quarter.
func tame(q references.Quarters) references.Quarters {
	const most = 500_000
	if q.Den() <= most {
		return q
	}
	f := q.Float() * most
	if f < 0 {
		f--
	}
	return references.Q(int64(f+0.5), most)
}
