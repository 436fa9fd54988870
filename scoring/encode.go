package scoring

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"
)

// EncodeJSON writes the assessment as one JSON object on one line. Equal assessments give equal
// bytes.
func (a *Assessment) EncodeJSON(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	if err := e.Encode(a); err != nil {
		return fmt.Errorf("write the assessment of %q: %w", a.Take, err)
	}
	return nil
}

// seconds is t rounded to the microsecond.
func seconds(t time.Duration) float64 {
	return float64(t.Round(time.Microsecond).Microseconds()) / 1e6
}

// tenths and thousandths round for the contract; the sum with zero turns -0 into 0.
func tenths(x float64) float64      { return math.Round(x*10)/10 + 0 }
func thousandths(x float64) float64 { return math.Round(x*1000)/1000 + 0 }

// known returns x rounded to tenths, or nil where it is no number.
func known(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return new(tenths(x))
}

// unless returns nil for the empty string.
func unless(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
