module evenhand

go 1.26.8

ignore ./internal/outside/node_modules

require pgregory.net/rapid v1.3.0
