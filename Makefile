# Lowtide. `make help` lists what there is.
SHELL := /bin/bash
.ONESHELL:
.SHELLFLAGS := -eu -o pipefail -c
export CGO_ENABLED ?= 1

TEMPL := github.com/a-h/templ/cmd/templ@v0.3.1100
CYCLONEDX := github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.10.0
STATICCHECK := honnef.co/go/tools/cmd/staticcheck@v0.8.2
# Packages in which goroutines meet: the race detector is worth its time there.
RACE := ./casebook/... ./review ./caseload ./web/... ./rule ./cli ./account ./accesslog ./seal
FUZZTIME ?= 10m
# A commit's tests give the same answer each time: laws are drawn from one seed. make deep draws anew.
LAWS ?= 1

.PHONY: help
help: ## list the targets
	@grep -hE '^[a-z-]+:.*##' Makefile | sed 's/:.*## /\t/' | expand -t 12

.PHONY: wasm
wasm: ## build the program for browsers, which the next build with the tag "bedside" embeds
	go run ./bedside/packed/make

.PHONY: build
build: wasm ## build the program into bin/
	CGO_ENABLED=0 go build -trimpath -tags bedside -ldflags "-s -w" -o bin/lowtide .

# What is released is what is committed: it is built in clones, of which the second lies elsewhere and must give the same
# bytes. make release COLD=1 has the second compile everything anew too, with a cache of its own.
RELEASE := linux/amd64 linux/arm64 darwin/amd64 darwin/arm64 windows/amd64 windows/arm64
COLD ?=
.PHONY: release
release: ## the program for six systems in dist/, with bills of materials and checksums, and built twice
	@rm -rf dist; mkdir dist
	work=$$(mktemp -d); trap 'chmod -R u+w "$$work"; rm -rf "$$work"' EXIT
	git clone -q . "$$work/one"; mkdir -p "$$work/else/where"; git clone -q . "$$work/else/where/two"
	GOBIN="$$work/bin" go install $(CYCLONEDX)
	export CGO_ENABLED=0 GOFLAGS=-trimpath
	program() { (cd "$$1" && GOOS=$${2%/*} GOARCH=$${2#*/} go build -tags bedside -ldflags "-s -w" -o "$$3" .); }
	(cd "$$work/one" && go run ./bedside/packed/make)
	for target in $(RELEASE); do
	  name=lowtide_$${target/\//_}; [ "$${target%/*}" != windows ] || name=$$name.exe
	  program "$$work/one" "$$target" "$$PWD/dist/$$name"
	  (cd "$$work/one" && GOOS=$${target%/*} GOARCH=$${target#*/} "$$work/bin/cyclonedx-gomod" app -json -std -licenses -noserial -notimestamp -output "$$OLDPWD/dist/$$name.cdx.json" . 2>"$$work/bom.log") || { cat "$$work/bom.log"; exit 1; }
	done
	[ -z "$(COLD)" ] || export GOCACHE="$$work/cache"
	(cd "$$work/else/where/two" && go run ./bedside/packed/make)
	program "$$work/else/where/two" linux/amd64 "$$work/again"
	cmp "$$work/again" dist/lowtide_linux_amd64 || { echo "two builds of one commit differ"; exit 1; }
	(cd dist && sha256sum -- *) > "$$work/sums"; mv "$$work/sums" dist/SHA256SUMS
	go run ./tests/release dist

.PHONY: demo
demo: ## serve the invented caseload
	go run . demo

.PHONY: tools
tools: ## install what the tests need: Debian packages and npm packages, by name
	@missing=""
	for p in age chromium gcc libc6-dev poppler-utils sqlite3 zbar-tools; do dpkg -s $$p >/dev/null 2>&1 || missing="$$missing $$p"; done
	for c in node npm; do command -v $$c >/dev/null || missing="$$missing nodejs npm"; done
	if [ -n "$$missing" ]; then
	  if [ "$$(id -u)" = 0 ]; then apt-get update -qq; DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $$missing >/dev/null
	  else echo "these Debian packages are needed:$$missing"; exit 1; fi
	fi
	cd tests/browser && npm ci --no-audit --no-fund --loglevel=error

.PHONY: check
check: ## format, vet, staticcheck, generated files fresh
	@bad=$$(gofmt -l $$(git ls-files '*.go')); [ -z "$$bad" ] || { echo "not formatted: $$bad"; exit 1; }
	go vet ./...
	go run $(STATICCHECK) ./...
	GOOS=js GOARCH=wasm go vet ./bedside ./casebook/browser
	GOOS=windows CGO_ENABLED=0 go vet ./seal ./casebook/sqlite ./cli
	$(MAKE) --no-print-directory fresh

.PHONY: gen
gen: ## make generated files again
	go run $(TEMPL) generate -path web
	go generate ./docs/format/... ./licence
	go run ./docs/hazards/gen
	go run ./evidence/cmd/evidence > docs/evidence.md

.PHONY: fresh
fresh: ## fail when generated files are stale
	@before=$$(git ls-files -s -- '*_templ.go' | sha256sum; cat $$(git ls-files '*_templ.go') | sha256sum)
	go run $(TEMPL) generate -path web >/dev/null 2>&1
	after=$$(git ls-files -s -- '*_templ.go' | sha256sum; cat $$(git ls-files '*_templ.go') | sha256sum)
	[ "$$before" = "$$after" ] || { echo "templates changed: run make gen and commit"; exit 1; }
	go run ./evidence/cmd/evidence | diff -q - docs/evidence.md >/dev/null || { echo "docs/evidence.md is stale: run make gen and commit"; exit 1; }

.PHONY: go-test
go-test: ## Go tests of every package
	RAPID_SEED=$(LAWS) go test ./...

.PHONY: race
race: ## the race detector where goroutines meet
	RAPID_SEED=$(LAWS) go test -race -short $(RACE)

.PHONY: browser
browser: ## real pages in a real browser
	$(MAKE) --no-print-directory wasm
	go build -tags bedside -o tests/browser/out/lowtide .
	cd tests/browser && LOWTIDE=$$PWD/out/lowtide node --test --test-concurrency=1 .

.PHONY: bedside-speed
bedside-speed: wasm ## how long a phone takes without a network
	go build -tags bedside -o tests/browser/out/lowtide .
	cd tests/browser && LOWTIDE=$$PWD/out/lowtide node bedside_speed.mjs

.PHONY: evidence
evidence: ## compare every outside number and print the table's last lines
	go run ./evidence/cmd/evidence | tail -n 3

.PHONY: test
test: tools check go-test race browser evidence release ## everything

.PHONY: deep
deep: ## long simulations and fuzzing (hours)
	LOWTIDE_DEEP=1 go test -timeout 6h ./...
	go run ./tests/fuzz -time $(FUZZTIME)

.PHONY: fuzz-build
fuzz-build: ## an executable and a seed corpus of each fuzz target in bin/fuzz, for a service that runs them
	go run ./tests/fuzz -build bin/fuzz

.PHONY: bench
bench: ## the budgets
	go test -run '^$$' -bench . -benchmem ./review ./caseload ./web ./casebook/sqlite ./suction ./fluid ./healing ./intake ./rule ./outline ./cli ./report/...

# The checkout to compare with, and folders of further case files: make differ BASE=../other CASES=,dir
BASE ?=
CASES ?=
.PHONY: differ
differ: ## compare the answers of another checkout's program with ours over 2,000 invented cases
	@[ -n "$(BASE)" ] || { echo "name the other checkout: make differ BASE=../other"; exit 1; }
	dir=$$(mktemp -d); trap 'rm -rf "$$dir"' EXIT
	go run ./tests/differ -cases "$$dir" -write
	go run ./tests/differ -cases "$$dir$(CASES)" -base "$(BASE)"

# Which sample of changes is drawn, and of which packages: make mutate SEED=2 PACKAGES="healing payer"
SEED ?= 1
PACKAGES ?=
.PHONY: mutate
mutate: ## which changed numbers and comparisons no test notices
	go run ./tests/mutate -seed $(SEED) -n 60 $(PACKAGES)

.PHONY: tour
tour: ## the packages in the order of the road
	@for p in intake casebook seal unit therapy suction power fluid outline healing pumplog trouble supply payer route week road rule equipment stock state review caseload chart wording report report/pdf report/fhir report/csv web account passkey accesslog meeting backup licence bedside bedside/packed cli demo evidence; do
	  go list -f '{{printf "%-10s" .Name}} {{.Doc}}' ./$$p; done

.PHONY: shots
shots: ## screenshots of the demo for the README and for looking at
	go build -o tests/browser/out/lowtide .
	cd tests/browser && LOWTIDE=$$PWD/out/lowtide node shots.mjs
