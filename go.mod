module evenhand

go 1.26.8

ignore ./internal/outside/node_modules

require gonum.org/v1/gonum v0.17.0
