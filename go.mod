module evenhand

go 1.26

ignore ./internal/outside/node_modules

require (
	github.com/google/go-cmp v0.7.0
	github.com/rogpeppe/go-internal v1.16.0
	github.com/spf13/cobra v1.10.2
	gitlab.com/gomidi/midi/v2 v2.3.16
	golang.org/x/term v0.36.0
	gonum.org/v1/gonum v0.17.0
	pgregory.net/rapid v1.3.0
)

require (
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/spf13/pflag v1.0.9 // indirect
	golang.org/x/sys v0.37.0 // indirect
	golang.org/x/tools v0.30.0 // indirect
)
