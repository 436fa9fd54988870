module evenhand

go 1.26

ignore ./internal/outside/node_modules

require (
	github.com/google/go-cmp v0.7.0
	gitlab.com/gomidi/midi/v2 v2.3.16
	gonum.org/v1/gonum v0.17.0
	pgregory.net/rapid v1.3.0
)
