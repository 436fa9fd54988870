//go:build !cgo || (!linux && !darwin && !windows)

package ports

func newDriver() (driver, error) { return nil, ErrUnsupported }

func supports(System) bool { return false }
