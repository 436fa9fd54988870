package exam

import (
	"cmp"
	"math/rand/v2"
	"slices"

	"evenhand/references"
)

// requests draws the requests of a part, no two with the same notes: a key comes again only when all others
// were asked, and hands, forms and whatever else differs come about as often as they are in the list.
func (d *drawing) requests(part *references.ListPart) []references.ListRequest {
	shares := d.sharesOf(part)
	pool := slices.Clone(part.Pool)
	d.lot.Shuffle(len(pool), func(i, j int) { pool[i], pool[j] = pool[j], pool[i] })
	kinds := shares.kinds()
	var drawn []references.ListRequest
	for len(drawn) < part.Number {
		i := d.next(pool, shares, kinds)
		if i < 0 {
			break // a list is checked to have enough, but not against its other parts
		}
		d.asked = append(d.asked, pool[i].Request)
		shares.take(&pool[i].Request)
		drawn, kinds = append(drawn, pool[i]), kinds[min(1, len(kinds)):]
	}
	if len(drawn) < part.Number {
		d.note("%s: only %d of %d are asked, since the others were asked before.", part.Title, len(drawn), part.Number)
	}
	return drawn
}

// asParts gives each request its loudness.
func (d *drawing) asParts(drawn []references.ListRequest, from []references.Dynamic) []Part {
	loudness := d.dealt(from, len(drawn))
	var parts []Part
	for i, r := range drawn {
		if len(loudness) > 0 {
			r.Request.Dynamic = references.Each(loudness[i])
		}
		parts = append(parts, Part{
			Kind: Request, Words: r.Request.Spoken(),
			Request: &Asked{r.Request, r.Least.NotesPerSecond(), r.Least.String()},
		})
	}
	return parts
}

// Requests are all requests of a list that differ, in an order drawn by seed, spread as in a paper,
// each with its loudness. It is what a list asks of a pupil who practises for it.
func Requests(list *references.List, seed uint64) []Asked {
	d := drawing{paper: &Paper{}, lot: rand.New(rand.NewPCG(seed, 0))}
	var all []Asked
	for _, part := range list.Parts {
		if part.Kind != references.RequestsPart {
			continue
		}
		part.Number = len(part.Pool)
		for _, q := range d.asParts(d.requests(&part), part.Loudness) {
			all = append(all, *q.Request)
		}
	}
	return all
}

// next is the index of the request in the pool that comes next, of the first of the kinds where any are
// named; -1 where each has the notes of one that was asked.
func (d *drawing) next(pool []references.ListRequest, shares shares, kinds []references.Kind) int {
	best, keys, least := -1, 0, 0.0
	for i := range pool {
		r := &pool[i].Request
		if len(kinds) > 0 && r.Kind != kinds[0] || slices.ContainsFunc(d.asked, r.Alike) {
			continue
		}
		key := 0
		for _, before := range d.asked {
			if before.Tonic.PitchClass() == r.Tonic.PitchClass() {
				key++
			}
		}
		if ahead := shares.ahead(r); best < 0 || key < keys || key == keys && ahead < least {
			best, keys, least = i, key, ahead
		}
	}
	return best
}

// shares say how often each kind, form, choice of hands and so on is to come, and how often it did. Each
// begins with a part of one drawn by lot, so that what is rare in a list comes in some papers only, and what
// is half of it alternates, as in systematic sampling.
type shares [len(traits{})]map[int]*share

type share struct{ expected, came float64 }

// traits are what requests are told apart by, but for the key.
type traits [7]int

func traitsOf(r *references.Request) traits {
	const doubles = 8 // more than there are double notes
	return traits{
		int(r.Kind), int(r.Form), int(r.Hands), int(r.Motion), int(r.Touch.Right),
		doubles*int(r.Apart) + int(r.Double), r.Inversion,
	}
}

func (d *drawing) sharesOf(part *references.ListPart) shares {
	var s shares
	each := float64(part.Number) / float64(len(part.Pool))
	for i := range part.Pool {
		for k, v := range traitsOf(&part.Pool[i].Request) {
			if s[k] == nil {
				s[k] = map[int]*share{}
			}
			if s[k][v] == nil {
				s[k][v] = &share{came: d.lot.Float64()}
			}
			s[k][v].expected += each
		}
	}
	return s
}

// kinds are those of which one request at least is expected, the rarest first: one of each is drawn before
// all else, since the rarer ones come in fewer keys.
func (s shares) kinds() []references.Kind {
	var all []references.Kind
	for v, x := range s[0] {
		if x.expected >= 1 {
			all = append(all, references.Kind(v))
		}
	}
	slices.SortFunc(all, func(a, b references.Kind) int {
		return cmp.Or(cmp.Compare(s[0][int(a)].expected, s[0][int(b)].expected), cmp.Compare(a, b))
	})
	return all
}

// ahead is how far the traits of a request have had their share already. Scale or arpeggio, the form and the
// hands, which a pupil notices most, count three times. Chosen by us.
func (s shares) ahead(r *references.Request) (sum float64) {
	for k, v := range traitsOf(r) {
		weight := 1.0
		if k < 3 {
			weight = 3
		}
		sum += weight * s[k][v].came / s[k][v].expected
	}
	return sum
}

func (s shares) take(r *references.Request) {
	for k, v := range traitsOf(r) {
		s[k][v].came++
	}
}

// dealt is a loudness for each of n requests, all of them as often as one another. With two requests or
// more, and both soft and loud to choose from, there is one of each.
func (d *drawing) dealt(loudness []references.Dynamic, n int) []references.Dynamic {
	if len(loudness) == 0 {
		return nil
	}
	pack := slices.Clone(loudness)
	d.lot.Shuffle(len(pack), func(i, j int) { pack[i], pack[j] = pack[j], pack[i] })
	var firsts, others []references.Dynamic // of the soft ones and the loud ones, and the rest
	for i, x := range pack {
		side := func(o references.Dynamic) bool { return soft(o) == soft(x) }
		if slices.IndexFunc(pack, side) == i {
			firsts = append(firsts, x)
		} else {
			others = append(others, x)
		}
	}
	pack = append(firsts, others...)
	var out []references.Dynamic
	for len(out) < n {
		out = append(out, pack...)
	}
	out = out[:n]
	d.lot.Shuffle(n, func(i, j int) { out[i], out[j] = out[j], out[i] })
	return out
}

// soft says on which side of the middle a dynamic is.
func soft(d references.Dynamic) bool { return d <= references.MezzoPiano }
