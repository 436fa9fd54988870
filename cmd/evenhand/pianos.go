package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"evenhand/capture/ports"
)

func newPianos() *cobra.Command {
	return &cobra.Command{
		Use:   "pianos",
		Short: "list the pianos and other MIDI ports there are",
		Long: `Lists the MIDI inputs and outputs of this machine. Other commands take a number
or a part of a name with --piano; where there is only one input it is taken
without asking.`,
		Example: "  evenhand pianos",
		Args:    noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			lists, err := ports.List()
			if err != nil {
				return err
			}
			printPorts(c.OutOrStdout(), lists)
			return nil
		},
	}
}

func printPorts(w io.Writer, lists ports.Lists) {
	show := func(title, none string, list []ports.Port) {
		if len(list) == 0 {
			fmt.Fprintln(w, none)
			return
		}
		fmt.Fprintln(w, title)
		for _, p := range list {
			through := ""
			if p.Through {
				through = ", hands on what other programs send"
			}
			fmt.Fprintf(w, "  %d  %s (%s%s)\n", p.Number, plain(p.Name), p.System, through)
		}
	}
	show("Inputs (what a piano sends):", "No input: plug the piano in by USB or MIDI cable and switch it on.", lists.In)
	show("Outputs (what a piano can be made to sound):", "No output.", lists.Out)
	for _, m := range lists.Missing {
		fmt.Fprintf(w, "Not looked at: %s.\n", m)
	}
}
