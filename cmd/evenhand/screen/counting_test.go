package screen

import (
	"fmt"
	"testing"
	"time"

	"evenhand/cmd/evenhand/screen/ink"
)

func TestPagesOfACount(t *testing.T) {
	for _, size := range sizes {
		t.Run(fmt.Sprintf("%dx%d", size.width, size.height), func(t *testing.T) {
			r := newRoom(t, size.width, size.height, &ink.Unicode, usualWords)
			name := func(page string) string { return fmt.Sprintf("count-%s-%dx%d", page, size.width, size.height) }
			r.show(Beat{N: 3, Of: 4})
			r.golden(name("asking"))
			messages := faulty(t, usualWords, 20, 30)
			r.plays(messages[:len(messages)/4])
			r.show(Beat{N: 2, Of: 4})
			r.golden(name("playing"))
			r.show(Beat{})
			r.misses("· 2 · ·")
		})
	}
	r := newRoom(t, 80, 24, &ink.ASCII, usualWords)
	r.show(Beat{N: 1, Of: 3})
	r.sees("1 . .")
}

// What is looped is asked again by itself, some time after it was told; what is not is not.
func TestLoop(t *testing.T) {
	for _, loop := range []bool{true, false} {
		r := newRoom(t, 80, 24, &ink.Unicode, usualWords)
		r.lesson.Loop = loop
		for n := 1; n <= 2; n++ {
			r.plays(faulty(t, usualWords, 20, 30))
			r.waits(3 * time.Second)
			if r.told != n || r.page() != telling {
				t.Fatalf("%d told, page %d", r.told, r.page())
			}
			r.waits(2 * reading)
			if asked := r.page() == asking; asked != loop {
				t.Errorf("loop %v: the page is %d after the verdict", loop, r.page())
			}
		}
	}
}
