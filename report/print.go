package report

import "os/exec"

// Chromium is the path of the browser that prints pages, empty where none is installed.
func Chromium() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}
