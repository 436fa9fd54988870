# How evenhand is built, tested and shown. "make help" lists what there is.

SHELL := bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
.PHONY: help demo test build dist engraver pictures accuracy bench soak clean install-build install-pages install-test outside format vet lint unit race nocgo fuzz

# Version control is read into the program only where it can be.
NOVCS := $(shell git rev-parse HEAD >/dev/null 2>&1 || echo -buildvcs=false)

# Looked at when a recipe runs, as it may just have been installed. Every build has the same flags,
# so that the C++ is compiled once.
CGO = $(shell sh internal/tools/cgo.sh)
GO = env $(CGO) go
TOOL := go tool -modfile=internal/tools/go.mod

# A number of runs and no time: stopped by the clock, the fuzzer now and then calls its own stop a failure.
FUZZTIME ?= 10000x
ALL_FUZZERS = $(shell grep -rl --include='*_test.go' '^func Fuzz' . --exclude-dir=node_modules | xargs -r -n1 dirname | sort -u)
# The requests of report/serve are fuzzed by make soak only: to build the databases for it takes minutes.
FUZZERS = $(filter-out ./report/serve,$(ALL_FUZZERS))

help: ## this list
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/  make \1\t\2/p' Makefile | expand -t 16

# What it builds engraves music in pages only where the engraver was fetched before: npm brings hundreds of
# packages, and nobody who looks in for the first time needs them.
demo: install-build ## install what is missing, build, and run the main job with the simulated pupil
	$(GO) build $(NOVCS) -trimpath -o bin/ ./cmd/evenhand
	./bin/evenhand demo

build: install-build engraver ## build bin/evenhand
	$(GO) build $(NOVCS) -trimpath -o bin/ ./cmd/evenhand

test: install-test engraver outside format vet lint unit race nocgo fuzz ## install what the tests need, and run them all
	@echo "all tests passed"

install-build:
	@bash internal/tools/install.sh build

install-pages:
	@bash internal/tools/install.sh pages

install-test:
	@bash internal/tools/install.sh test

# The engraver of the pages, which the program embeds where it is there. Without it everything builds.
engraver: report/web/dist/engraver.js.gz ## fetch the engraver that draws music in the pages

report/web/dist/engraver.js.gz: report/web/package-lock.json report/web/dist.mjs | install-pages
	@if ! command -v npm >/dev/null; then echo "npm is not installed: pages will show no engraved music"; \
	else npm ci --prefix report/web --no-audit --no-fund && npm run --silent --prefix report/web dist || echo "the engraver could not be fetched: pages will show no engraved music"; fi

# The reference libraries from npm that tests compare with.
outside: internal/outside/node_modules/.package-lock.json

internal/outside/node_modules/.package-lock.json: internal/outside/package-lock.json | install-test
	@if command -v npm >/dev/null; then npm ci --prefix internal/outside --no-audit --no-fund; else echo "npm is not installed: checks against its libraries will be skipped"; fi

format:
	@unformatted=$$($(TOOL) gofumpt -l $$(git ls-files -co --exclude-standard '*.go' 2>/dev/null || find . -name '*.go' -not -path '*/node_modules/*')); \
	if [ -n "$$unformatted" ]; then echo "not formatted by gofumpt:"; echo "$$unformatted"; exit 1; fi

vet:
	$(GO) vet ./...

lint:
	env $(CGO) $(TOOL) staticcheck ./...

# Tests of whole exams and pages in a terminal mostly wait: they run beside all others.
TERMINAL := ^(TestExamInATerminal|TestPage(InATerminal|OverALostPiano|OfAPiece|OfAFreshStart|WithABeat|WithABeatOnlySeen|Interrupted|UnderAFlood))$$

unit: ## all tests, with the skipped ones counted
	@out=$$(mktemp -d); trap 'rm -rf "$$out"' EXIT; failed=0; \
	$(GO) test -json -skip '$(TERMINAL)' ./... >"$$out/most" & most=$$!; \
	$(GO) test -json -run '$(TERMINAL)' ./cmd/evenhand >"$$out/terminal" & terminal=$$!; \
	wait $$most || failed=1; wait $$terminal || failed=1; \
	cat "$$out/most" "$$out/terminal" | go run ./internal/testsum && exit $$failed

# The packages that have goroutines; the others are functions of their inputs.
race: ## their tests under the race detector
	$(GO) test -race -short ./capture/... ./journal ./report/... ./internal/...

# Everything but the port driver works without cgo.
nocgo: ## build and test without cgo
	@if [ -d cmd/evenhand ]; then CGO_ENABLED=0 go build $(NOVCS) -o /dev/null ./cmd/evenhand; fi
	CGO_ENABLED=0 go vet ./...
	CGO_ENABLED=0 go test -short ./capture/...

fuzz: ## each fuzz target FUZZTIME times (10000x)
	@for dir in $(FUZZERS); do \
		for target in $$(grep -ho '^func Fuzz[A-Za-z0-9_]*' $$dir/*_test.go | cut -c6-); do \
			echo "fuzz $$dir $$target"; \
			$(GO) test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 1x $$dir; \
		done; \
	done

pictures: install-test engraver ## take the pictures of docs/pictures
	EVENHAND_PICTURES=$$PWD/docs/pictures $(GO) test -count=1 -run '^TestPictures$$' ./report

# The libraries of the system's sound are linked as they are found; all else is in the binary.
dist: install-build engraver ## a release in dist/: binaries, manual pages, shell completions, checksums
	rm -rf dist
	$(GO) build $(NOVCS) -trimpath -ldflags '-s -w -linkmode external -extldflags "-static-libgcc -static-libstdc++"' -o dist/ ./cmd/evenhand
	CGO_ENABLED=0 go build $(NOVCS) -trimpath -ldflags '-s -w' -o dist/evenhand-without-ports ./cmd/evenhand
	CGO_ENABLED=0 go run $(NOVCS) -tags manual ./cmd/evenhand manual dist
	cp LICENSE README.md dist/
	[ ! -f report/web/dist/NOTICE ] || cp report/web/dist/NOTICE dist/NOTICE
	cd dist && find . -type f ! -name SHA256SUMS | sort | xargs sha256sum > SHA256SUMS

accuracy: build ## how right it is, on open data (EVENHAND_DATA)
	@go run ./internal/accuracy

# One package after another, so that none disturbs another; "make bench COUNT=6 >new.txt" is ready for benchstat.
COUNT ?= 1
bench: install-test engraver outside ## the benchmarks, COUNT times
	$(GO) test -run '^$$' -bench . -benchmem -count $(COUNT) -timeout 2h ./...

soak: install-test ## the long runs: fuzzing for minutes, property tests and live tests many times
	$(MAKE) fuzz FUZZTIME=500000x FUZZERS='$(ALL_FUZZERS)'
	EVENHAND_SOAK=200 RAPID_CHECKS=2000 $(GO) test -count=1 -timeout 60m ./...
	$(GO) test -race -count=10 -timeout 60m ./capture/ports

clean: ## remove what was built and installed here
	rm -rf bin dist internal/outside/node_modules report/web/node_modules report/web/dist/NOTICE report/web/dist/*.gz
