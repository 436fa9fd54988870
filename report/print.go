package report

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"github.com/chromedp/chromedp"
)

// Paper is a size of paper.
type Paper string

// The papers: ISO 216 A4, and North American letter.
const (
	A4     Paper = "a4"
	Letter Paper = "letter"
)

// ErrNoBrowser says that there is nothing to print with.
var ErrNoBrowser = errors.New("a PDF needs Chromium: install it (apt install chromium), or print the page from any browser")

// printing is how long a page may take to be drawn and printed, on the slowest of machines.
const printing = 3 * time.Minute

// unconfined leaves out the browser's sandbox, for tests that are run by root.
var unconfined bool

// Chromium is the path of the browser that prints pages, empty where none is installed.
func Chromium() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// PDF prints a page, as one file, on paper. The error is ErrNoBrowser where no Chromium is installed.
func PDF(ctx context.Context, page []byte, paper Paper) ([]byte, error) {
	browser := Chromium()
	if browser == "" {
		return nil, ErrNoBrowser
	}
	folder, err := os.MkdirTemp("", "evenhand-page-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(folder)
	file := filepath.Join(folder, "page.html")
	if err := os.WriteFile(file, page, 0o600); err != nil {
		return nil, err
	}
	ctx, stop := context.WithTimeout(ctx, printing)
	defer stop()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(browser))
	if unconfined {
		options = append(options, chromedp.NoSandbox)
	}
	ctx, end := chromedp.NewExecAllocator(ctx, options...)
	defer end()
	ctx, endTab := chromedp.NewContext(ctx)
	defer endTab()
	err = chromedp.Do(ctx, chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String()), drawn())
	if err != nil {
		return nil, fmt.Errorf("%s cannot open the page: %w", browser, err)
	}
	pdf, err := chromedp.Run(ctx, printed(paper))
	if err != nil {
		return nil, fmt.Errorf("%s cannot print the page: %w", browser, err)
	}
	return pdf, nil
}

// drawn waits until the scripts of a page, where it has any, have drawn it.
func drawn() chromedp.Action[chromedp.Void] {
	return chromedp.Poll[chromedp.Void](`!document.getElementById("music") || document.documentElement.dataset.ready`,
		chromedp.WithPollingInterval(20*time.Millisecond), chromedp.WithPollingTimeout(printing))
}

func printed(paper Paper) chromedp.Action[[]byte] {
	size := chromedp.PaperA4
	if paper == Letter {
		size = chromedp.PaperLetter
	}
	return chromedp.PrintToPDF(chromedp.PDFPaper(size), chromedp.PDFPrintBackground(), chromedp.PDFOutlineAndTagged(), chromedp.PDFPreferCSSPageSize())
}
