module evenhand

go 1.26.8

ignore ./internal/outside/node_modules

require (
	github.com/google/go-cmp v0.7.0
	gitlab.com/gomidi/midi/v2 v2.3.16
	pgregory.net/rapid v1.3.0
)
