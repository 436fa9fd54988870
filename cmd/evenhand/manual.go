//go:build manual

// The manual pages and shell completions of a release are written by a build of their own, so that
// what they need is in no binary that is shipped.

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

func init() { more = append(more, newManual) }

// newManual writes manual pages to DIR/man and shell completions to DIR/completions.
func newManual() *cobra.Command {
	return &cobra.Command{
		Use:    "manual DIR",
		Short:  "write the manual pages and shell completions of a release",
		Hidden: true,
		Args:   cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			man, completions := filepath.Join(args[0], "man"), filepath.Join(args[0], "completions")
			for _, dir := range []string{man, completions} {
				if err := os.MkdirAll(dir, 0o755); err != nil {
					return fmt.Errorf("no folder for the manual: %w", err)
				}
			}
			root := c.Root()
			root.DisableAutoGenTag = true
			date := time.Unix(0, 0) // of the release, told by whoever packs it; the same build gives the same bytes
			if err := doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "evenhand " + version, Manual: "evenhand", Date: &date}, man); err != nil {
				return fmt.Errorf("the manual pages: %w", err)
			}
			for name, write := range map[string]func(string) error{
				"evenhand.bash": func(f string) error { return root.GenBashCompletionFileV2(f, true) },
				"evenhand.zsh":  root.GenZshCompletionFile,
				"evenhand.fish": func(f string) error { return root.GenFishCompletionFile(f, true) },
			} {
				if err := write(filepath.Join(completions, name)); err != nil {
					return fmt.Errorf("the completions: %w", err)
				}
			}
			return nil
		},
	}
}
