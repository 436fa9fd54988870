package references

import "testing"

// TestSpell: a strange key takes the name a teacher would call it by. Common practice.
func TestSpell(t *testing.T) {
	for _, c := range []struct {
		request string
		want    Name
		key     int
		name    string
	}{
		{"G minor arpeggio", Name{B, -1}, 60, "C"},
		{"G minor arpeggio", Name{B, -1}, 59, "B"},
		{"G minor arpeggio", Name{D, 0}, 61, "D♭"},
		{"B flat major", Name{E, -1}, 64, "E"},
		{"C major arpeggio", Name{E, 0}, 65, "F"},
		{"D major", Name{G, 0}, 68, "G♯"},
		{"D major", Name{G, 0}, 66, "F♯"},
		{"F sharp major", Name{E, 1}, 64, "E"},
	} {
		r, err := Parse(c.request)
		if err != nil {
			t.Fatal(err)
		}
		ref, err := r.Reference()
		if err != nil {
			t.Fatal(err)
		}
		if got := ref.Spell(c.key, c.want).String(); got != c.name {
			t.Errorf("%s: key %d for %s is %s, want %s", c.request, c.key, c.want, got, c.name)
		}
	}
}
