package report

// Teacher is what the teacher may say of a take on the page of a server.
type Teacher struct {
	Words, Strike string // addresses that take the forms
	Said          string // so far
	Mark          *int
	Findings      []Finding
}

// Finding is one that can be struck out.
type Finding struct {
	Number int // from 1
	Text   string
	Struck bool
	Why    string // it was
}
