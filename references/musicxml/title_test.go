package musicxml

import (
	"strings"
	"testing"
)

func TestTitleIsThatOfTheScore(t *testing.T) {
	for _, c := range []struct{ xml, want string }{
		{`<score-partwise><work><work-title>Songs</work-title></work><movement-title>Dusk</movement-title><part id="P1"/></score-partwise>`, "Songs, Dusk"},
		{`<score-timewise><movement-title> Dusk </movement-title><measure number="1"/></score-timewise>`, "Dusk"},
		{`<score-partwise><part-list/><part id="P1"/></score-partwise>`, ""},
	} {
		if got, err := Title(strings.NewReader(c.xml)); got != c.want || err != nil {
			t.Errorf("%s: %q, %v", c.xml, got, err)
		}
	}
	for _, bad := range []string{"", "words", "<feed/>", "<score-partwise></score-partwise>", "PK\x03\x04"} {
		if got, err := Title(strings.NewReader(bad)); err == nil {
			t.Errorf("%q has the title %q", bad, got)
		}
	}
}
