package main

import (
	"context"
	"errors"
	"runtime"
	"sync"
)

// errStopped is told where the user ended the work.
var errStopped = errors.New("stopped before all was done")

// eachInOrder works on the files on all cores and hands over the results in the order of the files.
// Only a few results are ever held back, so memory does not grow with the number of files. Where work
// failed on some, tell has told why, and the error is errTold. An error of tell's ends it.
func eachInOrder[R any](ctx context.Context, files []string, work func(string) (R, error), tell func(R, error) error) error {
	type result struct {
		value R
		err   error
	}
	type job struct {
		file string
		done chan result
	}
	workers := min(runtime.GOMAXPROCS(0), len(files))
	jobs := make(chan job)
	order := make(chan job, 4*workers) // begun and not yet told
	var wg sync.WaitGroup
	ctx, cancel := context.WithCancel(ctx)
	defer wg.Wait()
	defer cancel()
	for range workers {
		wg.Go(func() {
			for j := range jobs {
				value, err := work(j.file)
				j.done <- result{value, err}
			}
		})
	}
	go func() {
		defer close(jobs)
		defer close(order)
		for _, file := range files {
			j := job{file, make(chan result, 1)}
			for _, c := range []chan job{order, jobs} {
				select {
				case c <- j:
				case <-ctx.Done():
					return
				}
			}
		}
	}()
	told, failed := 0, false
	for j := range order {
		select {
		case r := <-j.done:
			told++
			failed = failed || r.err != nil
			if err := tell(r.value, r.err); err != nil {
				return err
			}
		case <-ctx.Done():
			return errStopped
		}
	}
	switch {
	case told < len(files):
		return errStopped
	case failed:
		return errTold
	}
	return nil
}
