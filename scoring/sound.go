package scoring

import (
	"fmt"
	"math"

	"evenhand/references"
)

var levelWords = map[string]string{
	"ppp": "as soft as can be", "pp": "very soft", "p": "soft", "mp": "fairly soft",
	"mf": "fairly loud", "f": "loud", "ff": "very loud", "fff": "as loud as can be",
}

// levelInWords gives "soft (p)".
func levelInWords(letters string) string { return levelWords[letters] + " (" + letters + ")" }

// loudness files what is amiss with the loudness.
func (l *ledger) loudness(v *volume, d *Dynamics, scale *loudnessScale, calibrated bool) {
	if d == nil {
		if len(l.Take.Notes) > 0 && l.fixedVelocity() {
			l.add(Finding{
				Kind: OneVelocity, Measured: known(float64(l.Take.Notes[0].Velocity)), Unit: "velocity", Source: chosenSource,
				Text: "This keyboard sends the same loudness for every key, so loudness was not judged.",
				try:  "Look whether its touch setting is fixed.",
			})
		}
		return
	}
	source := stepsSource
	if calibrated {
		source = measuredPiano
	}
	if d.Asked != nil {
		l.otherLoudness(d.Verdict, *d.Asked, d.Heard, d.MedianVelocity, references.NoHand, scale, source)
	} else {
		for i, h := range d.Hands {
			if h.Asked != nil {
				l.otherLoudness(h.Verdict, *h.Asked, h.Heard, h.MedianVelocity, v.hands[i].hand, scale, source)
			}
		}
	}
	l.unevenLoudness(v)
	l.balance(v)
	l.swell(d)
}

func (l *ledger) otherLoudness(verdict, asked, heard string, velocity float64, h references.Hand, scale *loudnessScale, source string) {
	if verdict != tooSoft && verdict != tooLoud {
		return
	}
	off := levelIndex(heard) - levelIndex(asked)
	f := Finding{
		Kind: OtherLoudness, Measured: &velocity, Limit: known(scale[levelIndex(asked)]), Unit: "velocity", Source: source,
		mark: soundMark, loss: l.charges.Level * (math.Abs(float64(off)) - 1), Severity: Fault, Hand: unless(h.String()),
	}
	who := "It"
	if h != references.NoHand {
		who = handTitle(h)
	}
	f.Text = fmt.Sprintf("%s was %s: it sounded %s, and %s was asked.", who, verdict, levelInWords(heard), levelInWords(asked))
	f.try = "Use a little more weight of the arm, and keep it the same on every note."
	if verdict == tooLoud {
		f.try = "Stay close to the keys and let them go down slowly."
	}
	l.add(f)
}

func (l *ledger) unevenLoudness(v *volume) {
	loss := l.charges.beyond(v.spread, l.limits.SpreadUnits, l.charges.Spread)
	if loss == 0 {
		return
	}
	f := Finding{
		Kind: UnevenLoudness, Measured: known(v.spread), Limit: known(l.limits.SpreadUnits), Unit: "velocity", Source: spreadSource,
		mark: soundMark, loss: loss, Severity: Light,
		try: "Listen for each note to match the one before it.",
	}
	how := "Some notes were a little louder or softer than their neighbours"
	if v.spread > l.limits.SpreadUnits {
		f.Severity, how = Fault, "The loudness jumped about from note to note"
	}
	event, hand, louder := v.oddest()
	word := "softest"
	if louder {
		word = "loudest"
	}
	for i := l.starts[event]; i < l.starts[event+1]; i++ {
		if n := &l.Reference.Notes[i]; n.Hand.Has(hand) {
			f.Text = fmt.Sprintf("%s; %s stood out as the %s beside its neighbours, %s.", how, l.noteWords(i), word, l.where(i))
			f = l.about(f, i)
			break
		}
	}
	l.add(f)
}

// oddest is the stroke furthest from the straight line through its hand and direction.
func (v *volume) oddest() (event int, hand references.Hand, louder bool) {
	far := -1.0
	for i := range v.hands {
		for _, fs := range byDirection(v.hands[i].forces) {
			if len(fs) < 3 {
				continue
			}
			xs, ys := coordinates(fs)
			for k, d := range detrend(xs, ys) {
				if math.Abs(d) > far {
					far, event, hand, louder = math.Abs(d), fs[k].event, v.hands[i].hand, d > 0
				}
			}
		}
	}
	return event, hand, louder
}

func (l *ledger) balance(v *volume) {
	if math.IsNaN(v.balance) || math.Abs(v.balance) <= l.limits.BalanceUnits || l.request == nil || !l.request.Dynamic.Same() {
		return
	}
	loud, soft := references.Left, references.Right
	if v.balance < 0 {
		loud, soft = soft, loud
	}
	l.add(Finding{
		Kind: Balance, Measured: known(v.balance), Limit: known(l.limits.BalanceUnits), Unit: "velocity", Source: chosenSource,
		mark: soundMark, loss: l.charges.Unbalanced, Severity: Light, Hand: unless(loud.String()),
		Text: fmt.Sprintf("The %s hand's notes were much louder than the %s hand's.", loud, soft),
		try:  "Play each hand alone first and match their sound.",
	})
}

func (l *ledger) swell(d *Dynamics) {
	if d.Swell == nil || d.Swell.Verdict != notHeard {
		return
	}
	l.add(Finding{
		Kind: NoSwell, Measured: d.Swell.Out, Limit: known(l.limits.SwellUnits), Unit: "velocity", Source: spreadSource,
		mark: soundMark, loss: l.charges.Swell, Severity: Light,
		Text: fmt.Sprintf("%s was asked and could not be heard both ways.", capital(d.Swell.Asked)),
		try:  "Begin clearly at one end of the loudness and plan where the other end comes.",
	})
}

// touch files joints that are not as asked, blurred notes, and a pedal held down.
func (l *ledger) touch(hs []handTouch) {
	var off, blurred []Finding
	for i := range hs {
		h := &hs[i]
		asked := askedTouch(l.request, h.hand)
		if asked == references.NoTouch {
			continue
		}
		if share := h.of(asked); share < l.limits.TouchShare {
			off = append(off, l.otherTouch(h, asked, share, len(hs)))
		} else if lap := overlap(h.joints); asked == references.Legato && lap > l.limits.BlurShare {
			blurred = append(blurred, Finding{
				Kind: Blurred, Measured: known(100 * lap), Limit: known(100 * l.limits.BlurShare), Unit: "percent of the interval", Source: chosenSource,
				mark: soundMark, loss: l.charges.Blur / float64(len(hs)), Severity: Light, Hand: unless(h.hand.String()),
				Text:   handTitle(h.hand),
				detail: ": the keys were held over one another, so the notes ran together.",
				try:    "Let each key go just as the next one goes down.",
			})
		}
	}
	for _, f := range append(bothHands(off), bothHands(blurred)...) {
		f.Text += f.detail
		l.add(f)
	}
	if s := l.pedalShare(); s > l.limits.PedalShare {
		l.add(Finding{
			Kind: PedalDown, Measured: known(100 * s), Limit: known(100 * l.limits.PedalShare), Unit: "percent of the time", Source: chosenSource,
			Text: "The pedal was down; the touch was judged by the keys alone.",
			try:  "Play it without the pedal, so that the fingers do the joining.",
		})
	}
}

// bothHands makes one finding of the same finding in each hand.
func bothHands(fs []Finding) []Finding {
	if len(fs) != 2 || fs[0].detail != fs[1].detail {
		return fs
	}
	f := fs[0]
	f.Measured = known((*f.Measured + *fs[1].Measured) / 2)
	f.loss += fs[1].loss
	f.Hand = unless(references.Both.String())
	f.Text = handTitle(references.Both)
	return []Finding{f}
}

func (l *ledger) otherTouch(h *handTouch, asked references.Touch, share float64, hands int) Finding {
	limit := l.limits.TouchShare
	f := Finding{
		Kind: OtherTouch, Measured: known(100 * share), Limit: known(100 * limit), Unit: "percent of the pairs", Source: chosenSource,
		mark: soundMark, loss: l.charges.Touch * (limit - share) / limit / float64(hands), Severity: Fault, Hand: unless(h.hand.String()),
		detail: ": there were gaps between the notes, and legato was asked.",
		try:    "Hold each key until the next one is down.",
	}
	switch {
	case asked == references.Staccato:
		f.Source = bresinSource
		f.detail = ": staccato was asked, but many keys were held too long."
		f.try = "Let each key go at once, as if it were hot."
	case l.request.Touch.Of(h.hand) == references.NoTouch:
		f.detail = ": there were gaps between the notes; where nothing is said, it is legato."
	}
	if share > limit/2 {
		f.Severity = Light
	}
	f.Text = handTitle(h.hand)
	return f
}
