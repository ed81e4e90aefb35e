# What a developer runs. See DEVELOPERS.md.
#
#   make test    installs what the tests need, then every check
#   make bench   the benchmarks (BENCH=regexp picks some)
#   make agree   the page's check against the command line's, on everything tampered with
#   make fuzz    every fuzz test for FUZZTIME (60s) each
#   make cover   how much of each package the tests run
#   make fmt     formats the code

SHELL := /bin/bash
.SHELLFLAGS := -eu -o pipefail -c

STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.2
GOVULNCHECK := golang.org/x/vuln/cmd/govulncheck@v1.9.0
# The vulnerability database as a Go module: the check needs no other network.
VULNDB := golang.org/x/vulndb@v0.0.0-20261105234957-e22db6528018

TESTFLAGS ?= -count=1 -timeout 60m
BENCH ?= .
BENCHFLAGS ?= -benchmem -timeout 60m
FUZZTIME ?= 60s
PKG ?= ./...

.NOTPARALLEL:
.PHONY: test needs fmt gofmt vet staticcheck vulncheck race agree bench fuzz cover

test: needs gofmt vet staticcheck vulncheck race

needs:
	@internal/tools/install-test-needs.sh

fmt:
	gofmt -w $$(git ls-files '*.go')

gofmt:
	@bad=$$(git ls-files -co --exclude-standard '*.go' | while read -r f; do [ -f "$$f" ] && gofmt -l "$$f"; done); \
	if [ -n "$$bad" ]; then echo "gofmt would change:"; echo "$$bad"; exit 1; fi; echo "gofmt: ok"

vet:
	go vet ./...
	@echo "vet: ok"

staticcheck:
	go run $(STATICCHECK) ./...
	@echo "staticcheck: ok"

# go mod download leaves go.mod alone when it runs outside the module.
vulncheck:
	@cd / && go mod download $(VULNDB)
	go run $(GOVULNCHECK) -format json -db "file://$$(go env GOMODCACHE)/$(VULNDB)/data/osv" ./... | \
		go run ./internal/tools/vulncheck DEVELOPERS.md

race:
	go test -race $(TESTFLAGS) $(PKG)

agree:
	go test $(TESTFLAGS) ./web/check

bench:
	go test -run '^$$' -bench '$(BENCH)' $(BENCHFLAGS) $(PKG)

fuzz:
	@go test -list '^Fuzz' $(PKG) | awk '/^Fuzz/ {f[n++]=$$1} /^ok/ {for (i=0; i<n; i++) print $$2, f[i]; n=0}' | \
	{ found=0; while read -r pkg name; do found=1; echo "fuzz $$pkg $$name for $(FUZZTIME)"; \
		go test -run '^$$' -fuzz "^$$name\$$" -fuzztime $(FUZZTIME) -fuzzminimizetime 10x "$$pkg" </dev/null; done; \
	if [ "$$found" = 0 ]; then echo "no fuzz test found" >&2; exit 1; fi; }

cover:
	@mkdir -p bin
	go test -coverpkg=./... -coverprofile=bin/cover.out $(TESTFLAGS) $(PKG)
	go tool cover -func=bin/cover.out | tail -1
