package report

import "testing"

func TestTidyPictures(t *testing.T) {
	for _, tt := range []struct{ in, want string }{
		{
			"<?xml?>\n<svg><g x=\"1\">\n<path d=\"M1.2345,2L3,4.0001\" style=\"fill:none\" />\n<path d=\"M5,6L7,8\" style=\"fill:none\" />\n<path d=\"M1,1\" style=\"fill:#000\" />\n</g></svg>",
			"<svg><style>.s0{fill:none}.s1{fill:#000}</style><g x=\"1\">\n<path d=\"M1.2,2L3,4.0M5,6L7,8\" class=\"s0\" />\n<path d=\"M1,1\" class=\"s1\" />\n</g></svg>",
		},
		{ // a dot of radius 2
			"<svg><g >\n<path d=\"M48.54,137.1A2,2 0 1 1 44.54,137.1A2,2 0 1 1 48.54,137.1Z\" style=\"fill:#000\" />\n</g></svg>",
			"<svg><style>.s0{fill:#000}</style><g >\n<path d=\"M48.5,137.1a2,2 0 1 1-4,0a2,2 0 1 1 4,0Z\" class=\"s0\" />\n</g></svg>",
		},
		{"<svg></svg>", "<svg></svg>"},
	} {
		if got := string(tidy([]byte(tt.in))); got != tt.want {
			t.Errorf("got\n%s\nwant\n%s", got, tt.want)
		}
	}
}
