package capture_test

import (
	"bytes"
	"fmt"
	"time"

	"evenhand/capture"
)

// A take is built from messages as they come, written, and read back the same.
func Example() {
	b := capture.NewBuilder(capture.Take{Facts: map[string]string{"request": "C major, right hand, one octave"}})
	for i, key := range []byte{60, 62, 64} {
		at := time.Duration(i) * 400 * time.Millisecond
		for _, c := range b.Add(capture.Message{At: at, Status: 0x90, Data1: key, Data2: 70}) {
			fmt.Println("began:", b.Note(c.Index).Key)
		}
		b.Add(capture.Message{At: at + 390*time.Millisecond, Status: 0x80, Data1: key, Data2: 64})
	}

	var file bytes.Buffer
	if err := capture.WriteSMF(&file, b.Take()); err != nil {
		fmt.Println(err)
	}
	take, err := capture.ReadSMF(&file, "take.mid")
	if err != nil {
		fmt.Println(err)
	}
	fmt.Println(take.Facts["request"])
	for _, n := range take.Notes {
		fmt.Println(n.Key, n.Velocity, n.On, n.Length())
	}
	// Output:
	// began: 60
	// began: 62
	// began: 64
	// C major, right hand, one octave
	// 60 70 0s 390ms
	// 62 70 400ms 390ms
	// 64 70 800ms 390ms
}
