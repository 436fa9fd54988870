package main

import (
	"fmt"

	"github.com/spf13/cobra"
)

// version is the program's version; it is stored with every assessment.
const version = "0.1.0"

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "print the version",
		Example: "  evenhand version",
		Args:    noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprintf(c.OutOrStdout(), "evenhand %s\n", version)
			return err
		},
	}
}
