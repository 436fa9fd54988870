package musicxml

import (
	"bytes"
	"os"
	"testing"

	"evenhand/internal/outside"
)

// BenchmarkRead reads the longest score of the open data, 2 MB of text. On a desktop machine it is
// to take well under a second.
func BenchmarkRead(b *testing.B) {
	data, err := os.ReadFile(outside.Data(b, "hanon", "score.musicxml"))
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Read(bytes.NewReader(data)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkWrite writes the same score.
func BenchmarkWrite(b *testing.B) {
	data, err := os.ReadFile(outside.Data(b, "hanon", "score.musicxml"))
	if err != nil {
		b.Fatal(err)
	}
	ref, err := Read(bytes.NewReader(data))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		var out bytes.Buffer
		if err := Write(&out, ref); err != nil {
			b.Fatal(err)
		}
	}
}
