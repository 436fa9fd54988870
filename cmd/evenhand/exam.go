package main

import "github.com/spf13/cobra"

func newExam() *cobra.Command {
	c := &cobra.Command{
		Use:   "exam",
		Short: "hold a mock exam",
		Long: `A mock exam: a paper is drawn from a list of requirements (see evenhand list),
what is played is heard and marks are proposed, and the teacher has the last
word. It is for practice and gives no official result.`,
		Example: "  evenhand exam draw --level 3",
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newExamDraw())
	return c
}
