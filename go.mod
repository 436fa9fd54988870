module evenhand

go 1.26.8

ignore ./internal/outside/node_modules
