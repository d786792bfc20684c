module evenpull

go 1.26.8

require (
	github.com/evanw/esbuild v0.28.2
	github.com/golang-jwt/jwt/v5 v5.3.1
	github.com/klauspost/compress v1.20.4
	github.com/labstack/echo/v4 v4.16.0
	github.com/mattn/go-isatty v0.0.22
	github.com/pion/logging v0.2.4
	github.com/pion/mdns/v2 v2.2.2
	go.etcd.io/bbolt v1.5.0
	go.yaml.in/yaml/v3 v3.0.6
	golang.org/x/crypto v0.57.0
	golang.org/x/net v0.59.0
	pgregory.net/rapid v1.3.0
	rsc.io/qr v0.2.0
)

require (
	github.com/BurntSushi/toml v1.4.1-0.20240526193622-a339e1f7089c // indirect
	github.com/labstack/gommon v0.5.0 // indirect
	github.com/mattn/go-colorable v0.1.15 // indirect
	github.com/valyala/bytebufferpool v1.0.0 // indirect
	github.com/valyala/fasttemplate v1.2.2 // indirect
	golang.org/x/exp/typeparams v0.0.0-20231108232855-2478ac86f678 // indirect
	golang.org/x/mod v0.41.0 // indirect
	golang.org/x/sync v0.23.0 // indirect
	golang.org/x/sys v0.48.0 // indirect
	golang.org/x/text v0.42.0 // indirect
	golang.org/x/tools v0.51.0 // indirect
	honnef.co/go/tools v0.8.2 // indirect
)

tool honnef.co/go/tools/cmd/staticcheck
