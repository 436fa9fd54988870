package scoring

import (
	"fmt"
	"math"
	"strings"

	"evenhand/references"
)

// Where the limits come from, as findings tell it.
const (
	heardSource   = "Friberg & Sundberg (1992), STL-QPSR 33(4), 97-108"
	driftSource   = "Drake & Botte (1993), Perception & Psychophysics 54(3), 277-286"
	apartSource   = "chosen by us; above 60 ms the order is heard very surely, Sapp (2005), Mazurka project"
	chosenSource  = "chosen by us"
	spreadSource  = "chosen by us; from twice the just noticeable difference of Slade et al. (2022), Psychology of Music"
	stepsSource   = "common convention of 16 velocity units a level"
	bresinSource  = "Bresin & Battel (2000), J. New Music Research 29(3), 211-224"
	measuredPiano = "measured on this piano"
)

// timing files what the intervals tell: crossings that come late, notes that limp, runs that are
// uneven. A run has one of them, by its cause.
func (l *ledger) timing(rs []run) {
	notes := 0
	for i := range rs {
		notes += rs[i].notes
	}
	late := map[*run]*lateCrossings{}
	for _, c := range l.lateCrossings(rs) {
		late[c.run] = &c
	}
	coarse, told := false, false
	for i := range rs {
		r := &rs[i]
		switch {
		case math.IsNaN(r.sd):
		case l.told(r.sd / 1000):
			told = true
			l.unevenRun(r, late[r], float64(r.notes)/float64(notes))
		case r.limitPercent(l.limits)/100*r.ioi < 2000*l.Take.Period.Seconds():
			coarse = true
		default:
			// Whatever is hidden by the clock is within the limit.
		}
	}
	if coarse && !told {
		l.coarseClock()
	}
}

func (l *ledger) coarseClock() {
	l.add(Finding{
		Kind: CoarseClock, Measured: known(1000 * l.Take.Period.Seconds()), Unit: "ms", Source: chosenSource,
		Text: "The times of this take come in steps too coarse to tell how even it was.",
		try:  "Set a shorter period for the sound system.",
	})
}

// unevenRun files what is uneven about one run, which bears a share of the loss.
func (l *ledger) unevenRun(r *run, late *lateCrossings, share float64) {
	if rest, long := l.withoutLongTonics(r); long > 0 {
		l.longTonics(r, long)
		r = &rest
	}
	limit := r.limitPercent(l.limits)
	loss := share * l.charges.beyond(r.cv(), limit, l.charges.Uneven)
	f := Finding{Kind: Uneven, Measured: known(r.cv()), Limit: known(limit), Unit: "percent of the interval", Source: heardSource}
	if limit == l.limits.EvennessPercent {
		f.Source = chosenSource
	}
	switch {
	case late != nil:
		f = l.crossingFinding(f, late)
	case loss == 0:
		return
	case r.limps():
		f.Kind = LongShort
		f.Text = fmt.Sprintf("%s, %s: the notes went long and short in turn.", handTitle(r.hand), wayWords(r.direction))
		f.try = "Play them in threes, with a little weight on each first note."
		f = l.over(f, r)
	default:
		f = l.unevenFinding(f, r, limit)
	}
	if loss > 0 {
		f.mark, f.loss, f.Severity = timeMark, loss, Light
		if r.cv() > limit {
			f.Severity = Fault
		}
	}
	l.add(f)
}

// longTonics says that the key note was held at the octaves.
func (l *ledger) longTonics(r *run, n int) {
	l.add(l.over(Finding{
		Kind: LongTonic, Measured: known(float64(n)), Unit: "notes", Source: commonPractice,
		Text: fmt.Sprintf("%s, %s: it rests a little on %s at the octave. That is no fault; play it without once too.",
			handTitle(r.hand), wayWords(r.direction), l.Reference.Request.Tonic.Words()),
	}, r))
}

// limps reports whether long and short intervals in turn make more than half of the variance.
func (r *run) limps() bool {
	var sum, all float64
	for k := range r.intervals {
		d := r.intervals[k].deviation
		if r.intervals[k].to.event%2 == 1 {
			sum -= d
		} else {
			sum += d
		}
		all += d * d
	}
	return sum*sum/float64(len(r.intervals)) > all/2
}

// over gives a finding the extent of a run.
func (l *ledger) over(f Finding, r *run) Finding {
	first, last := r.intervals[0].from, r.intervals[len(r.intervals)-1].to
	f.Hand = unless(r.hand.String())
	f.detail = strings.TrimSpace(handWords(r.hand) + " " + wayWords(r.direction))
	return l.between(f, first, last)
}

// between gives a finding the extent from one step to another.
func (l *ledger) between(f Finding, a, b *step) Finding {
	f.From, f.To = l.place(a.notes[0]), l.place(b.notes[0])
	f.FromS, f.ToS = new(round6(a.on)), new(round6(b.on))
	for _, s := range []*step{a, b} {
		for _, i := range s.notes {
			f.Notes = append(f.Notes, l.expectedAt[i])
		}
	}
	return f
}

// round6 rounds seconds to the microsecond.
func round6(s float64) float64 { return math.Round(s*1e6) / 1e6 }

func (l *ledger) unevenFinding(f Finding, r *run, limit float64) Finding {
	w := r.worst()
	lead := "a little uneven"
	if r.cv() > limit {
		lead = "uneven"
	}
	to := w.to.notes[0]
	came := "late"
	if w.deviation < 0 {
		came = "early"
	}
	octave := l.octaveWords(to)
	if octave != "" {
		octave = ", " + octave
	}
	f.Text = fmt.Sprintf("%s, %s: %s, most of all from %s to %s%s, where %s came %s%s.",
		handTitle(r.hand), wayWords(r.direction), lead, l.noteWords(w.from.notes[0]), l.noteWords(to), octave,
		l.noteWords(to), came, l.fingerClause(w.from, w.to, r.hand))
	f.try = "Play in groups that begin and end just there, slowly, then join them up."
	return l.over(f, r)
}

// fingerClause tells the usual fingers of a step, "" where they are unknown.
func (l *ledger) fingerClause(a, b *step, h references.Hand) string {
	from, to := l.finger(a, h), l.finger(b, h)
	if from == 0 || to == 0 {
		return ""
	}
	how := ""
	if c := l.crossing(a, b, h); c != references.NoCrossing {
		how = ", the " + c.String()
	}
	return fmt.Sprintf(" (with the usual fingering %d to %d%s)", from, to, how)
}

// crossingFinding names every note at which a group of crossings comes late.
func (l *ledger) crossingFinding(f Finding, c *lateCrossings) Finding {
	var names []string
	for _, s := range c.steps {
		names = append(names, l.noteWords(s.notes[0]))
	}
	what, try := "where the thumb passes under with the usual fingering",
		"Let the thumb move under as soon as it has left its key, so that it waits above the next one."
	if c.kind == references.FingerOver {
		what, try = "where a finger crosses over the thumb with the usual fingering",
			"Let the hand turn over the thumb early, and keep the thumb light."
	}
	f = l.over(f, c.run)
	f.Kind, f.try = LateCrossing, try
	f.Measured, f.Limit, f.Unit, f.Source = known(c.late), known(c.limit), "ms", heardSource
	f.Text = fmt.Sprintf("%s, %s: %s came late, %s.", handTitle(c.run.hand), wayWords(c.run.direction), list(names), what)
	f.Notes = nil
	for _, s := range c.steps {
		for _, i := range s.notes {
			f.Notes = append(f.Notes, l.expectedAt[i])
		}
	}
	return f
}

// drift files a tempo that changed from the beginning to the end, by more than the unevenness of the
// notes would make it seem (three standard errors).
func (l *ledger) drift(u pulse, t *Tempo) {
	if t == nil || math.IsNaN(u.drift) || math.Abs(u.drift) < max(l.limits.DriftNoticePercent, 3*u.doubt) {
		return
	}
	beat := u.rate * t.BPM // of a beat a minute, for the ends of the line
	start, end := math.Round(beat/u.start), math.Round(beat/u.end)
	f := Finding{
		Kind: Drift, Measured: known(u.drift), Limit: known(l.limits.DriftNoticePercent), Unit: "percent", Source: driftSource,
		mark: timeMark, loss: l.charges.DriftPercent * (math.Abs(u.drift) - l.limits.DriftNoticePercent), Severity: Light,
		try: fmt.Sprintf("Count aloud as you play, or set a metronome to %.0f.", start),
	}
	if math.Abs(u.drift) >= l.limits.DriftFaultPercent {
		f.Severity = Fault
	}
	how := "It got faster"
	if u.drift < 0 {
		how = "It slowed down"
	}
	f.Text = fmt.Sprintf("%s: from about %.0f beats a minute to about %.0f.", how, start, end)
	l.add(f)
}

// otherTempo says where the tempo is not the one asked. It costs nothing: slow practice is practice,
// and a fast scale is judged by how even it is.
func (l *ledger) otherTempo(t *Tempo) {
	if t == nil || t.Verdict != "slower" && t.Verdict != "faster" {
		return
	}
	f := Finding{Kind: OtherTempo, Measured: &t.BPM, Limit: t.Asked, Unit: "beats a minute", Source: chosenSource}
	notes := ""
	if t.NotesPerBeat != nil {
		notes = fmt.Sprintf(", with %s to the beat", number(int(math.Round(*t.NotesPerBeat))))
	}
	f.Text = fmt.Sprintf("It was %s than asked: about %.0f beats a minute for %.0f%s.", t.Verdict, t.BPM, *t.Asked, notes)
	f.try = "Once it is even, bring the tempo up a little each day."
	if t.Verdict == "faster" {
		f.try = "Keep it at a tempo at which every note is even."
	}
	l.add(f)
}

// handsApart files hands that do not fall together.
func (l *ledger) handsApart(e *ensemble) {
	if e == nil {
		return
	}
	rms := e.rms()
	loss := l.charges.beyond(rms, l.limits.TogetherMS, l.charges.Apart)
	if loss == 0 {
		return
	}
	f := Finding{
		Kind: HandsApart, Measured: known(rms), Limit: known(l.limits.TogetherMS), Unit: "ms", Source: apartSource,
		mark: timeMark, loss: loss, Severity: Light,
		try: "Play it very slowly and listen for one sound on every note.",
	}
	how := "The hands were nearly together"
	if rms > l.limits.TogetherMS {
		f.Severity, how = Fault, "The hands were not quite together"
	}
	if rms > max(l.limits.TogetherApartMS, l.limits.TogetherMS) {
		how = "The hands were clearly apart"
	}
	at := l.rightNote(e.worst())
	switch {
	case math.Abs(e.mean) < rms/2:
		how += fmt.Sprintf(", most of all at %s, %s", l.noteWords(at), l.where(at))
	case e.mean > 0:
		how += ": the left hand's notes came after the right hand's"
	default:
		how += ": the right hand's notes came after the left hand's"
	}
	f.Text = how + "."
	f = l.about(f, at)
	f.Hand = unless(references.Both.String())
	l.add(f)
}

// rightNote is the right hand's note of an event, or the lowest where it has none.
func (p *performance) rightNote(event int) int {
	for i := p.starts[event]; i < p.starts[event+1]; i++ {
		if p.Reference.Notes[i].Hand == references.Right {
			return i
		}
	}
	return p.starts[event]
}
