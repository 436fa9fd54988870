package references

import "fmt"

// Grace says that a note is a grace note, and of what sort. A grace note has no written length; its
// onset is that of the beat it leads to, and how long it takes is the player's.
type Grace int8

// The sorts of grace note, by how they are printed: with a stroke through the stem, without one, or
// closing the note before (after a trill, or at the end of a bar).
const (
	NoGrace Grace = iota
	Acciaccatura
	Appoggiatura
	AfterGrace
)

var graceNames = [...]string{"", "acciaccatura", "appoggiatura", "after-grace"}

// String is "acciaccatura", "appoggiatura", "after-grace" or "".
func (g Grace) String() string { return graceNames[g] }

// Ornament is a sign that asks for more strokes than are written out. How many is the player's.
type Ornament int8

// The ornaments. Mordent is the sign with the stroke, which dips to the note below; InvertedMordent
// is the one without, which rises to the note above (the terms of MusicXML: usage differs). Tremolo
// repeats the note, TremoloPair alternates with the next. A Glissando slides to the next note.
const (
	NoOrnament Ornament = iota
	Trill
	Turn
	InvertedTurn
	DelayedTurn
	DelayedInvertedTurn
	Mordent
	InvertedMordent
	Schleifer
	Tremolo
	TremoloPair
	Glissando
)

var ornamentNames = [...]string{
	"", "trill", "turn", "inverted turn", "delayed turn", "delayed inverted turn",
	"mordent", "inverted mordent", "schleifer", "tremolo", "tremolo pair", "glissando",
}

// String is the ornament's name, "" for none.
func (o Ornament) String() string { return ornamentNames[o] }

// Meter is a time signature: 6 and 8 for 6/8. An additive one is added up over its smallest unit.
// The zero value is music without a metre.
type Meter struct{ Beats, Unit int }

// Length is the length of a full bar, zero without a metre.
func (m Meter) Length() Quarters {
	if m.Unit == 0 {
		return Quarters{}
	}
	return Q(4*int64(m.Beats), int64(m.Unit))
}

// Beat is the length of one beat: three units in compound time (6, 9, 12 and so on), else one; a
// quarter without a metre.
func (m Meter) Beat() Quarters {
	switch {
	case m.Unit == 0:
		return Q(1, 1)
	case m.Beats > 3 && m.Beats%3 == 0:
		return Q(12, int64(m.Unit))
	}
	return Q(4, int64(m.Unit))
}

// Bar is one bar of a reference as it is played, repeats unfolded.
type Bar struct {
	Number        string // as printed; two bars may share one
	Written       int    // index of the bar as written, before repeats are unfolded
	Pass          int    // 1 the first time it is played
	Onset, Length Quarters
	Skip          Quarters // of an upbeat, or a bar that goes on after a repeat: how far into the full bar it starts
	Meter         Meter
	Signs         BarSigns
}

// BarSigns are the signs by which a bar as written sends the player back or on.
type BarSigns struct {
	RepeatStart  bool   // a repeat goes back to the start of this bar
	RepeatEnd    int    // how many times in all the part that ends here is played; 0 where no repeat ends
	AfterJump    bool   // the repeat that ends here is taken after a da capo too
	Endings      string // numbers of the bracket over the bar: "1, 2"; empty without one
	EndingStarts bool   // the bracket opens at this bar
	Segno, Coda  bool   // the sign stands at the start of the bar
	ToCoda       bool   // at the end of the bar: on to the coda, after a jump
	Fine         bool   // at the end of the bar: the end, after a jump
	Back         Back   // at the end of the bar
	Double       bool   // a double bar line at the end
	Final        bool   // a thin and a thick bar line at the end
}

// Back is a jump back that is written in words.
type Back int8

// The jumps back: from the beginning, or from the sign.
const (
	NoBack Back = iota
	DaCapo
	DalSegno
)

// KeyChange is a key signature: sharps, or flats below 0.
type KeyChange struct {
	Onset  Quarters
	Fifths int
	Minor  bool
}

// TempoMark is a tempo from Onset on: a metronome mark, words, or both.
type TempoMark struct {
	Onset   Quarters
	Tempo   Tempo  // BPM 0 where there are words alone
	Words   string // "Andante grazioso"; empty where there are none
	Printed bool   // the figure is printed; else it is a suggestion for playback
}

// MarkKind is what a [Mark] asks for.
type MarkKind int8

// The kinds of mark. Fermata holds what sounds at From until To; a breath and a caesura come
// after what ends at From. Swing asks for uneven quavers.
const (
	Ritardando MarkKind = iota
	Accelerando
	ATempo
	Fermata
	Caesura
	Breath
	Crescendo
	Diminuendo
	Swing
)

var markNames = [...]string{
	"ritardando", "accelerando", "a tempo", "fermata", "caesura", "breath", "crescendo", "diminuendo", "swing",
}

// String is the mark's name.
func (k MarkKind) String() string { return markNames[k] }

// Mark is a direction over a stretch of music, or at one place where From and To are equal. A
// hairpin ends where it is closed; words end at the next direction of their kind.
type Mark struct {
	Kind     MarkKind
	From, To Quarters
	Hand     Hand   // whose part it stands over; Both for most
	Mild     bool   // poco
	Niente   bool   // from or to nothing
	Words    string // as printed; empty for a sign
}

// Pedalling is one stretch with the sustaining pedal marked down. A change of pedal ends one and
// begins the next.
type Pedalling struct{ From, To Quarters }

// Section is a run of bars, Bars[First:End], that are played straight through: a player may go on
// elsewhere than written only where one ends. Together the sections are all the bars.
type Section struct {
	First, End int
	Pass       int
}

// Jump is a place where a player may rightly go on elsewhere than the full unfolding does: after
// Bars[From-1], to Bars[To].
type Jump struct {
	From, To int
	Why      JumpKind
}

// JumpKind is why a jump is allowed.
type JumpKind int8

// The kinds of jump: a repeat left out, and a repeat taken that is usually left out, after a da
// capo.
const (
	LeaveRepeat JumpKind = iota
	TakeRepeat
)

// Warning is something in a score that was odd and passed over.
type Warning struct {
	Bar  string // printed number of the bar; empty outside of bars
	Line int    // in the XML text, from 1; 0 where there is none
	Text string // one plain sentence, lower case, without the place
}

// String gives the place and the text.
func (w Warning) String() string {
	switch {
	case w.Bar != "" && w.Line > 0:
		return fmt.Sprintf("bar %s (line %d): %s", w.Bar, w.Line, w.Text)
	case w.Line > 0:
		return fmt.Sprintf("line %d: %s", w.Line, w.Text)
	case w.Bar != "":
		return fmt.Sprintf("bar %s: %s", w.Bar, w.Text)
	}
	return w.Text
}
