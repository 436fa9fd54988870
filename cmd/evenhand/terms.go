package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/exam/questions"
)

func newTerms() *cobra.Command {
	return &cobra.Command{
		Use:   "terms [WORD...]",
		Short: "say what a musical term means, or list them all",
		Long: `Says what a word in a score means: an Italian, French or German term, or its
abbreviation. Without a word, all terms are listed. The facts are those of the
public-domain dictionaries of music; the wording is our own.`,
		Example: "  evenhand terms rit.",
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				printTerms(c.OutOrStdout())
				return nil
			}
			word := strings.Join(args, " ")
			if strings.TrimSpace(word) == "" {
				return usageError{errors.New("no word is given: name one, such as \"rit.\", or none for all")}
			}
			e, ok := questions.Look(word)
			if !ok {
				return usageError{fmt.Errorf("%.60q is not among the terms: the nearest are %s", word, quotedList(questions.Near(word, 3)))}
			}
			printTerm(c.OutOrStdout(), e)
			return nil
		},
	}
}

// quotedList is "a", "b" or "c".
func quotedList(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = fmt.Sprintf("%q", w)
	}
	if n := len(quoted) - 1; n > 0 {
		return strings.Join(quoted[:n], ", ") + " or " + quoted[n]
	}
	return strings.Join(quoted, "")
}

// printTerm writes one term with its other forms.
func printTerm(w io.Writer, e questions.Entry) {
	var b strings.Builder
	wrap(&b, columnsOf(w), "", fmt.Sprintf("%s (%s): %s.", e.Term, e.Language, e.Meaning))
	if len(e.Also) > 0 {
		wrap(&b, columnsOf(w), "", "Also written: "+strings.Join(e.Also, ", "))
	}
	fmt.Fprint(w, b.String())
}

// printTerms writes all terms, those of one matter together.
func printTerms(w io.Writer) {
	headings := map[string]string{
		"tempo": "Tempo", "speed": "Changes of tempo", "loudness": "Loudness", "touch": "Touch", "character": "Character", "amount": "Words that go with others",
		"way": "The way through the score", "piano": "Hands and pedals", "form": "Parts of a piece",
	}
	var b strings.Builder
	class := ""
	for _, e := range questions.Glossary() {
		if e.Class != class {
			if class != "" {
				b.WriteString("\n")
			}
			class = e.Class
			b.WriteString(headings[class] + "\n")
		}
		wrap(&b, columnsOf(w), "  ", fmt.Sprintf("%s: %s", e.Term, e.Meaning))
	}
	fmt.Fprint(w, b.String())
}
