package report

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"evenhand/references"
	"evenhand/references/musicxml"
)

// engraving is a score written for the engraver, with the places of its notes in it.
type engraving struct {
	xml string
	ids []string // of each note of the reference, the id of its note head
}

// engrave writes a reference as MusicXML in which every note has an id of our own. Notes played again
// in a repeat have the id of the first time, since they are printed once.
func engrave(ref *references.Reference) (engraving, error) {
	copied := *ref
	copied.Notes = slices.Clone(ref.Notes)
	ids := make([]string, len(ref.Notes))
	known := map[printedNote]string{}
	for i := range copied.Notes {
		n := &copied.Notes[i]
		p := printedAs(ref, n)
		id, again := known[p]
		if !again {
			id = fmt.Sprintf("n%d", i)
			known[p] = id
		}
		ids[i] = id
		others := len(n.Also)
		if n.Hand == references.Both {
			others = max(others, 1)
		}
		n.ID, n.Also = id, nil
		for k := range others {
			n.Also = append(n.Also, fmt.Sprintf("%s-%d", id, k+1))
		}
	}
	var b bytes.Buffer
	if err := musicxml.Write(&b, &copied); err != nil {
		return engraving{}, err
	}
	// There is one instrument, whose name needs no room.
	xml := strings.Replace(b.String(), "<part-name>", `<part-name print-object="no">`, 1)
	return engraving{xml, ids}, nil
}

// printedNote is a note as it stands on paper.
type printedNote struct {
	bar        int // as written
	at, length references.Quarters
	key        int
	hand       references.Hand
	grace      int8
}

func printedAs(ref *references.Reference, n *references.Note) printedNote {
	p := printedNote{at: n.Onset, length: n.Length, key: n.Key(), hand: n.Hand, grace: n.GraceOrder}
	if n.Measure >= 0 && n.Measure < len(ref.Bars) {
		b := &ref.Bars[n.Measure]
		p.bar, p.at = b.Written, n.Onset.Sub(b.Onset).Add(b.Skip)
	}
	return p
}
