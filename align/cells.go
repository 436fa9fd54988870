package align

// cells keeps the cells of all notes, in pages, so that no note waits while what is there is copied.
type cells struct {
	pages []*[pageCells]cell
	count int32
}

const pageCells = 256

func (s *cells) at(i int32) *cell { return &s.pages[i/pageCells][i%pageCells] }

func (s *cells) add(c cell) {
	if s.count%pageCells == 0 {
		s.pages = append(s.pages, new([pageCells]cell))
	}
	*s.at(s.count) = c
	s.count++
}
