package main

import (
	"context"
	"fmt"
	"os"
	"strconv"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/capture/pupil"
	"evenhand/references"
)

// usage: zz_play "request" bpm wrongAt waitAt stopAfter(ms) delay(s)
func main() {
	r, err := references.Parse(os.Args[1])
	if err != nil { panic(err) }
	ref, _ := r.Reference()
	bpm, _ := strconv.ParseFloat(os.Args[2], 64)
	wrong, _ := strconv.Atoi(os.Args[3])
	wait, _ := strconv.Atoi(os.Args[4])
	stop, _ := strconv.Atoi(os.Args[5])
	delay, _ := strconv.ParseFloat(os.Args[6], 64)
	p := pupil.Pupil{Seed: 3, BPM: bpm}
	if wrong >= 0 { p.Faults = append(p.Faults, pupil.Fault{Kind: pupil.SemitoneOff, At: wrong}) }
	if wait >= 0 { p.Faults = append(p.Faults, pupil.Fault{Kind: pupil.Wait, At: wait, Pause: 900 * time.Millisecond}) }
	take, _ := pupil.Play(ref, p)
	out, err := ports.OpenVirtual("Toy piano")
	if err != nil { panic(err) }
	time.Sleep(time.Duration(delay * float64(time.Second)))
	ctx := context.Background()
	until := pupil.RealTime()
	err = pupil.Perform(ctx, take, func(c context.Context, at time.Duration) error {
		if stop > 0 && at > time.Duration(stop)*time.Millisecond { return fmt.Errorf("stopped") }
		return until(c, at)
	}, func(m capture.Message) error { return out.Send(m.Status, m.Data1, m.Data2) })
	fmt.Println(err)
	time.Sleep(time.Duration(delay * float64(time.Second)))
	if len(os.Args) > 7 { n, _ := strconv.Atoi(os.Args[7]); time.Sleep(time.Duration(n)*time.Second) }
}
