module lowtide

go 1.26.0

require (
	codeberg.org/go-pdf/fpdf v0.12.0 // papers as PDF
	filippo.io/age v1.3.2 // backups are encrypted to a recipient's key
	github.com/BurntSushi/toml v1.6.0 // rules, sources, equipment and evidence tables; lists keys that it did not understand
	github.com/a-h/templ v0.3.1100 // pages: typed, escaped, small in a browser build
	github.com/boombuler/barcode v1.1.0 // the QR code of a seal of the day
	github.com/expr-lang/expr v1.17.8 // the expression language of the rules, typed at load
	github.com/go-fonts/dejavu v0.3.2 // the typeface of papers: Latin, Greek, Cyrillic, Hebrew, Arabic; free licence
	github.com/go-webauthn/webauthn v0.18.2 // passkeys
	github.com/google/fhir/go v0.7.4 // tests only: an independent check that Bundles are valid FHIR R4
	github.com/google/licensecheck v0.3.1 // generator only: names a licence by its text
	github.com/google/uuid v1.6.0 // identifiers derived from entries (RFC 9562, version 5)
	github.com/invopop/jsonschema v0.14.0 // writes the JSON Schema of the case file from the Go types
	github.com/pressly/goose/v3 v3.29.0 // migrations of the store
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3 // tests only: an independent check of that schema
	github.com/spf13/cobra v1.10.2 // commands, flags, shell completion
	golang.org/x/crypto v0.58.0 // Argon2id and XChaCha20-Poly1305
	golang.org/x/image v0.48.0 // which signs a typeface has
	golang.org/x/sys v0.50.0 // file locks on Windows
	golang.org/x/term v0.47.0 // passphrases are typed without being shown
	golang.org/x/text v0.44.0 // passwords are compared in one Unicode form
	golang.org/x/time v0.16.0 // rate limits
	gonum.org/v1/gonum v0.17.0 // incomplete beta function and normal quantile of the supply counts
	modernc.org/sqlite v1.62.0 // the embedded store, without a C compiler
	pgregory.net/rapid v1.3.0 // tests only: properties
)

require (
	filippo.io/hpke v0.4.0 // indirect
	github.com/bahlo/generic-list-go v0.2.0 // indirect
	github.com/buger/jsonparser v1.1.2 // indirect
	github.com/dustin/go-humanize v1.1.0 // indirect
	github.com/fxamacker/cbor/v2 v2.9.4 // indirect
	github.com/go-viper/mapstructure/v2 v2.5.0 // indirect
	github.com/go-webauthn/x v0.3.1 // indirect
	github.com/golang-jwt/jwt/v5 v5.3.1 // indirect
	github.com/golang/protobuf v1.5.4 // indirect
	github.com/google/go-tpm v0.9.8 // indirect
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/mattn/go-isatty v0.0.24 // indirect
	github.com/mfridman/interpolate v0.0.2 // indirect
	github.com/ncruces/go-strftime v1.1.0 // indirect
	github.com/pb33f/ordered-map/v2 v2.3.1 // indirect
	github.com/philhofer/fwd v1.2.0 // indirect
	github.com/remyoudompheng/bigfft v0.0.0-20230129092748-24d4a6f8daec // indirect
	github.com/sethvargo/go-retry v0.5.0 // indirect
	github.com/spf13/pflag v1.0.9 // indirect
	github.com/tinylib/msgp v1.6.4 // indirect
	github.com/x448/float16 v0.8.4 // indirect
	go.uber.org/multierr v1.11.0 // indirect
	go.yaml.in/yaml/v4 v4.0.0-rc.2 // indirect
	golang.org/x/sync v0.25.0 // indirect
	modernc.org/libc v1.80.1 // indirect
	modernc.org/mathutil v1.7.1 // indirect
	modernc.org/memory v1.12.1 // indirect
)

require (
	bitbucket.org/creachadair/stringset v0.0.9 // indirect
	github.com/json-iterator/go v1.1.10 // indirect
	github.com/modern-go/concurrent v0.0.0-20180306012644-bacd9c7ef1dd // indirect
	github.com/modern-go/reflect2 v1.0.1 // indirect
	github.com/pkg/errors v0.9.1 // indirect
	github.com/serenize/snaker v0.0.0-20201027110005-a7ad2135616e // indirect
	google.golang.org/protobuf v1.36.12 // indirect
)
