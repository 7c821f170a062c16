# make check     everything that must pass, on a fresh Debian machine with Go and make too
#                (as root it installs what is missing: a C compiler for the race detector,
#                Chromium and the checkers of the browser tests)
# make simulate  the long simulations whose tables stand in docs/accuracy.md
# make mutate    small mistakes made in science/record (or OF=./science/…), to see which no test notices
# make bench     how long things take, from a thousand readings to a million
# make screenshots  the tutorial's pictures anew
# make release   the program for every system, with licences and checksums, in dist/
# make reproducible  builds a release twice, from two folders, nothing cached: every byte is the same
# make check-install  a release where there is nothing else: install, demo, old benches, uninstall (root, Linux)
# make docs      numbers, excerpts and figures of the documents anew, after the engine changed

GO ?= go

# style has vetted what tests are made of, and no debugger looks at them.
LEAN = -vet=off -ldflags=-w

# The race detector looks at what runs side by side, and there at the tests named
# AtOnce: under it everything is ten times as slow, a database sixteen to forty times.
# A test of internal/house names a package that starts or guards something and is missing here.
RACED = ./chart/raster ./science/assess ./science/control ./science/history ./science/num ./science/plan ./science/posterior ./bench/people ./bench/store ./bench/trials ./sqlite ./web

.PHONY: check setup all style race test uncached simulate mutate bench docs screenshots release reproducible check-install

# Two at a time: each by itself leaves a processor idle now and then.
check: setup
	@$(MAKE) --no-print-directory -j2 all

all: style race test uncached

# The garbage collector runs a quarter as often, in compilers and tests, while there is room: an eighth of the time.
style race test uncached: export GOGC = 400
style race test uncached: export GOMEMLIMIT = 2GiB

setup:
	@command -v cc >/dev/null || { apt-get update -q && apt-get install -yq --no-install-recommends gcc libc6-dev; }
	@tools/browser-setup.sh

# For tests of other packages: each statement is prepared, letters of a figure must not cover each other.
KEPT = func: Statements$$\|func: Label.Box$$

style:
	@test -z "$$(gofmt -l .)" || { gofmt -l .; echo "gofmt these files"; exit 1; }
	$(GO) mod tidy -diff
	$(GO) vet ./...
	$(GO) tool -modfile=tools/go.mod staticcheck ./...
	@all=$$($(GO) tool -modfile=tools/go.mod deadcode ./cmd/...) || exit 1; \
		dead=$$(echo "$$all" | grep -v '$(KEPT)'); test -z "$$dead" || \
		{ echo "$$dead"; echo "no command reaches these: they go, or live beside the tests that use them"; exit 1; }

# All that is compiled for it is compiled so: left out, a package brings copies of generic functions, of
# sync/atomic too, that the detector does not see, and the linker takes whichever comes first.
race:
	CGO_ENABLED=1 $(GO) test -race $(LEAN) -short -run AtOnce $(RACED)

# The browser tests take longest, and begin first. house and docstest run other programs, which
# the cache of test results does not see: an import put in the wrong place would go unnoticed.
LONGEST = ./internal/browsertest
UNCACHED = ./internal/house ./internal/docstest

test:
	$(GO) test $(LEAN) $(LONGEST) $$($(GO) list ./... | grep -v -e /internal/house$$ -e /internal/docstest$$)

uncached:
	$(GO) test $(LEAN) -count=1 $(UNCACHED)

# Counts are kept outside the repository, by commit, so that a run that was stopped goes on.
SIMULATED = /tmp/knownwater-simulated/$(shell git rev-parse --short HEAD)

simulate:
	$(GO) test -count 1 -run TestAnyTrial ./science/assess -rapid.checks 2000
	KNOWNWATER_BOUNDS=1 $(GO) test -count 1 -run TestBounds ./intake
	$(GO) run ./internal/simulate -runs 1000 -dear 300 -keep $(SIMULATED) -write docs/accuracy.md
	$(GO) run ./internal/simulatecurves -runs 4000
	KNOWNWATER_KILLS=200 $(GO) test -count 1 -run TestKilledServer -v ./web

OF = ./science/record
MISTAKES = 60

mutate:
	$(GO) run ./internal/mutate -n $(MISTAKES) -seed 9 $(OF)

bench:
	$(GO) test -run NONE -bench . -benchmem ./science/... ./intake ./report ./web ./bench/trials ./internal/million

release:
	$(GO) run ./internal/release -out dist

# Two clones of this commit in folders of different names, each with a build cache of its own.
reproducible:
	@set -e; work=$$(mktemp -d); trap 'rm -rf "$$work"' EXIT; \
	for n in one another; do \
		git clone -q . "$$work/$$n"; \
		(cd "$$work/$$n" && GOCACHE="$$work/cache-$$n" $(GO) run ./internal/release -out "$$work/out-$$n" -only "$$($(GO) env GOOS)/$$($(GO) env GOARCH)"); \
	done; \
	cmp "$$work/out-one/SHA256SUMS" "$$work/out-another/SHA256SUMS"; cat "$$work/out-one/SHA256SUMS"; \
	for f in "$$work"/out-one/*; do cmp "$$f" "$$work/out-another/$$(basename "$$f")"; done; \
	echo "two builds, the same bytes"

check-install:
	tools/check-install.sh

docs:
	$(GO) test ./internal/docstest -update

screenshots:
	KNOWNWATER_PICTURES=$(CURDIR)/docs/shots $(GO) test -count 1 -run TestTutorial ./internal/browsertest
