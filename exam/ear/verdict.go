package ear

// Verdict is how an ear test went. It proposes a mark; a teacher's stands above it.
type Verdict struct {
	Mark   *int   // out of 100; nil where there was too little to judge
	Reason string // one or two sentences
	Losses []Loss // what the mark lost, the greatest loss first
}

func (v *Verdict) lose(points, measured, limit float64, unit, source, text string) {
	v.Losses = append(v.Losses, Loss{Points: points, Text: text, Measured: measured, Limit: limit, Unit: unit, Source: source})
}

// Loss is why points were lost.
type Loss struct {
	Points   float64
	Text     string  // one sentence
	Measured float64 // in Unit
	Limit    float64 // up to which nothing is lost, in Unit
	Unit     string
	Source   string // of the limit
}
