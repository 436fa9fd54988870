package serve

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/capture/pupil"
	"evenhand/journal"
	"evenhand/report"
)

// Of a school: so many pupils practised so many things over two years, and so many read at once.
const (
	schoolPupils  = 40
	schoolDays    = 730
	schoolReaders = 50
)

// schoolTakes is how many takes the journal of the benchmark has: EVENHAND_TAKES, or 100,000.
func schoolTakes() int {
	if n, err := strconv.Atoi(os.Getenv("EVENHAND_TAKES")); err == nil {
		return n
	}
	return 100_000
}

var schoolAsked = func() (out []string) {
	for _, tonic := range []string{"C", "D", "E flat", "F", "G", "A", "B flat", "F sharp"} {
		for _, kind := range []string{"major scale", "minor harmonic scale", "major arpeggio"} {
			for _, hand := range []string{"right hand", "left hand"} {
				out = append(out, fmt.Sprintf("%s %s, %s, 1 octave", tonic, kind, hand))
			}
		}
	}
	return out
}()

// school makes a journal of many takes, all with files and assessments of full size.
func school(b *testing.B) *journal.Journal {
	b.Helper()
	j := newJournal(b)
	var entries []journal.Entry
	for i, asked := range schoolAsked {
		entries = append(entries, played(b, asked, monday, pupil.Pupil{Seed: uint64(i), Spread: 10, Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: 3}}}))
	}
	rng := rand.New(rand.NewPCG(1, 1))
	n := schoolTakes() / schoolPupils
	for p := range schoolPupils {
		name, done := fmt.Sprintf("Pupil %d", p), -1
		_, err := j.TakeIn(b.Context(), name, func() (journal.Record, error) {
			switch done++; {
			case done == 0:
				return journal.Record{Kind: "pupil", Schema: journal.RecordSchema, Name: name, Added: &monday}, nil
			case done > n:
				return journal.Record{}, nil
			}
			e := entries[rng.IntN(len(entries))]
			started := monday.Add(time.Duration(float64(done) / float64(n) * schoolDays * float64(24*time.Hour)))
			smf := binary.AppendVarint(bytes.Clone(e.SMF), int64(done))
			sum := sha256.Sum256(smf)
			return journal.Record{
				Kind: "take", Schema: journal.RecordSchema, Asked: e.Asked, Started: &started, Practised: e.Practised.Microseconds(),
				SMF: smf, Digest: hex.EncodeToString(sum[:]),
				Assessments: []journal.Assessed{{Version: "1", At: started, Outcome: e.Outcome}},
			}, nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	return j
}

// somewhere is where a reader looks next: mostly at pupils and their takes.
func somewhere(rng *rand.Rand) string {
	p := 1 + rng.IntN(schoolPupils)
	switch n := rng.IntN(10); {
	case n < 1:
		return "/"
	case n < 2:
		return "/week"
	case n < 5:
		return fmt.Sprintf("/pupils/%d", p)
	case n < 6:
		return fmt.Sprintf("/pupils/%d/takes", p)
	case n < 8:
		return fmt.Sprintf("/pupils/%d/takes?before=%d", p, (p-1)*(schoolTakes()/schoolPupils)+1+rng.IntN(schoolTakes()/schoolPupils))
	}
	return takePath(int64(1 + rng.IntN(schoolTakes())))
}

// BenchmarkReaders has 50 readers go through a journal of 100,000 takes, each turning a page about once
// a second, first undisturbed and then while a take is kept every two seconds. It tells how long a page
// takes, from the request to the last byte, and beside it how long the stylesheet takes, which is only
// sent: so much is the machine. The pages of all pupils have been looked at once before; most
// takes have not.
func BenchmarkReaders(b *testing.B) {
	j := school(b)
	address, s := running(b, j, func(o *Options) {
		o.Engraver = report.BuiltIn()
		o.Now = func() time.Time { return monday.AddDate(0, 0, schoolDays) }
	})
	for p := range schoolPupils {
		for _, path := range []string{"/", "/week", "/pupils/%d"} {
			path = strings.Replace(path, "%d", strconv.Itoa(p+1), 1)
			answer, err := http.Get(address + path)
			if err != nil {
				b.Fatal(err)
			}
			answer.Body.Close()
		}
	}
	for _, keeping := range []bool{false, true} {
		b.Run(fmt.Sprintf("keeping=%v", keeping), func(b *testing.B) {
			for b.Loop() {
				ctx, stop := context.WithCancel(b.Context())
				var writer sync.WaitGroup
				if keeping {
					writer.Go(func() { keepNow(b, ctx, j) })
				}
				all, idle := readAll(b, address, s.links.Style)
				stop()
				writer.Wait()
				for _, p := range []int{50, 99} {
					b.ReportMetric(percentile(all, p), fmt.Sprintf("ms-p%d", p))
					b.ReportMetric(percentile(idle, p), fmt.Sprintf("ms-style-p%d", p))
				}
				b.ReportMetric(float64(len(all)), "pages")
			}
		})
	}
}

// keepNow keeps a take every two seconds.
func keepNow(b *testing.B, ctx context.Context, j *journal.Journal) {
	e := played(b, "D major scale, hands together", monday.AddDate(0, 0, schoolDays), pupil.Pupil{Seed: 3})
	for n := int64(0); ; n++ {
		mine := e
		mine.SMF = binary.AppendVarint(bytes.Clone(e.SMF), n)
		if _, err := j.Keep(context.WithoutCancel(ctx), "Pupil 7", mine); err != nil {
			b.Error(err)
		}
		pause(ctx, 2*time.Second)
		if ctx.Err() != nil {
			return
		}
	}
}

// percentile is one of times, in ms.
func percentile(all []time.Duration, p int) float64 {
	slices.Sort(all)
	return float64(all[len(all)*p/100].Microseconds()) / 1000
}

// readAll has all readers turn 30 pages each, and returns how long each page took, and how long what is
// only sent.
func readAll(b *testing.B, address, style string) (all, idle []time.Duration) {
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: schoolReaders}}
	var mu sync.Mutex
	var readers sync.WaitGroup
	look := func(path string, took *[]time.Duration) {
		begin := time.Now()
		answer, err := client.Get(address + path)
		if err != nil {
			b.Error(err)
			return
		}
		defer answer.Body.Close()
		if _, err := io.Copy(io.Discard, answer.Body); err != nil || answer.StatusCode != http.StatusOK {
			b.Errorf("%s: %s, %v", path, answer.Status, err)
		}
		mu.Lock()
		defer mu.Unlock()
		*took = append(*took, time.Since(begin))
	}
	for r := range schoolReaders {
		readers.Go(func() {
			rng := rand.New(rand.NewPCG(7, uint64(r)))
			for range 30 {
				time.Sleep(time.Duration(rng.IntN(1000)) * time.Millisecond)
				look(style, &idle)
				time.Sleep(time.Duration(rng.IntN(1000)) * time.Millisecond)
				look(somewhere(rng), &all)
			}
		})
	}
	readers.Wait()
	return all, idle
}

// BenchmarkPages makes each page once, with nothing remembered.
func BenchmarkPages(b *testing.B) {
	b.Setenv("EVENHAND_TAKES", "10000")
	j := school(b)
	for _, path := range []string{"/", "/week", "/pupils/1", "/pupils/1/takes", "/takes/1"} {
		b.Run(path, func(b *testing.B) {
			s := serving(b, j, func(o *Options) { o.Now = func() time.Time { return monday.AddDate(0, 0, schoolDays) } })
			for b.Loop() {
				s.server.shelf.new, s.server.shelf.old = nil, nil
				s.get(path)
			}
		})
	}
}
