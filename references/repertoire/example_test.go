package repertoire_test

import (
	"fmt"

	"evenhand/references/repertoire"
)

func Example() {
	for _, s := range repertoire.All() {
		fmt.Printf("%s, %s, year %d\n", s.Title, s.Kind, s.Year)
	}
	ref, path, err := repertoire.Open("ferryman")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %d bars\n", path, len(ref.Bars))
	_, _, err = repertoire.Open("steping stones")
	fmt.Println(err)
	// Output:
	// Stepping Stones, study, year 1
	// Raindrops and Puddles, study, year 2
	// Harbour Waltz, piece, year 2
	// The Ferryman, piece, year 2
	// Evening Tide, study, year 3
	// The Clockmaker's Dance, piece, year 3
	// the-ferryman.musicxml: 22 bars
	// no score is called "steping stones": did you mean "Stepping Stones"?
}
