package exam

import (
	"slices"

	"evenhand/references"
)

// requests draws the requests of a part, spread over keys, hands, forms and loudness: each is the one
// least like those drawn before it. No two have the same notes.
func (d *drawing) requests(part *references.ListPart) []Part {
	pool := slices.Clone(part.Pool)
	d.lot.Shuffle(len(pool), func(i, j int) { pool[i], pool[j] = pool[j], pool[i] })
	loudness := d.dealt(part.Loudness, part.Number)
	var parts []Part
	for len(parts) < part.Number {
		i := d.leastLike(pool)
		if i < 0 {
			break // a list is checked to have enough, but not against its other parts
		}
		next := pool[i]
		d.asked = append(d.asked, next.Request)
		if len(loudness) > 0 {
			next.Request.Dynamic = references.Each(loudness[len(parts)])
		}
		parts = append(parts, Part{
			Kind: Request, Words: next.Request.Spoken(),
			Request: &Asked{next.Request, next.Least.NotesPerSecond(), next.Least.String()},
		})
	}
	if len(parts) < part.Number {
		d.note("%s: only %d of %d are asked, since the others were asked before.", part.Title, len(parts), part.Number)
	}
	return parts
}

// leastLike is the index of the request in the pool that is least like all that are drawn; -1 where each
// has the notes of one of them.
func (d *drawing) leastLike(pool []references.ListRequest) int {
	best, least := -1, 0
	for i := range pool {
		like := 0
		alike := slices.ContainsFunc(d.asked, func(before references.Request) bool {
			like += likeness(&before, &pool[i].Request)
			return before.Alike(pool[i].Request)
		})
		if !alike && (best < 0 || like < least) {
			best, least = i, like
		}
	}
	return best
}

// likeness is how much two requests have in common. A key comes again only when all
// others were asked; then the kind and the form count most. Chosen by us.
func likeness(a, b *references.Request) int {
	n := 0
	for _, same := range []struct {
		is     bool
		weight int
	}{
		{a.Tonic.PitchClass() == b.Tonic.PitchClass(), 1000},
		{a.Kind == b.Kind, 4},
		{a.Form == b.Form, 4},
		{a.Hands == b.Hands, 3},
		{a.Motion == b.Motion, 2},
		{a.Touch == b.Touch, 2},
		{a.Apart == b.Apart && a.Double == b.Double, 1},
		{a.Inversion == b.Inversion, 1},
	} {
		if same.is {
			n += same.weight
		}
	}
	return n
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
