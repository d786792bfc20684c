package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"
)

//go:embed all:dist
var dist embed.FS

// Built is the client that this binary holds; empty where none was built before it.
func Built() fs.FS {
	files, err := fs.Sub(dist, "dist")
	if err != nil {
		panic(err) // the name is ours
	}
	return files
}

// A client holds the built files in memory, and where those of earlier builds lie.
type client struct {
	files  map[string]file // by path without the leading slash
	assets archive
}

type file struct {
	body, packed []byte // packed is the .gz beside it, if any
	kind, etag   string
}

// kinds of what a client is built of: not the machine's own table, which differs from one to the next.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
	".json": "application/json", ".map": "application/json", ".webmanifest": "application/manifest+json", ".txt": "text/plain; charset=utf-8",
	".svg": "image/svg+xml", ".png": "image/png", ".webp": "image/webp", ".ico": "image/x-icon", ".woff2": "font/woff2",
}

func kindOf(name string) string {
	if kind, ok := kinds[path.Ext(name)]; ok {
		return kind
	}
	return "application/octet-stream"
}

func loadClient(built fs.FS, folder string) (*client, error) {
	c := &client{files: map[string]file{}, assets: archive{folder}}
	err := fs.WalkDir(built, ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || strings.HasPrefix(path.Base(name), ".") || strings.HasSuffix(name, ".gz") {
			return err
		}
		body, err := fs.ReadFile(built, name)
		if err != nil {
			return err
		}
		packed, err := fs.ReadFile(built, name+".gz")
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		sum := sha256.Sum256(body)
		c.files[name] = file{body, packed, kindOf(name), `"` + hex.EncodeToString(sum[:12]) + `"`}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if index, ok := c.files[indexName]; ok && folder != "" {
		return c, c.assets.keep(c.files, strings.Trim(index.etag, `"`))
	}
	return c, nil
}

const (
	indexName = "index.html"
	assetsDir = "assets/"
)

// file answers what is no call of the API: a built file; an asset of a build
// before; for a page's address the app itself. A missing asset is 404, never
// the app: a page in place of a script would be kept under the script's name.
func (s *Server) file(c echo.Context) error {
	name := strings.TrimPrefix(c.Request().URL.Path, "/")
	f, ok := s.client.files[name]
	if !ok && strings.HasPrefix(name, assetsDir) {
		f, ok = s.client.assets.find(strings.TrimPrefix(name, assetsDir))
		if !ok {
			return notFound(c)
		}
	}
	if !ok {
		if path.Ext(name) != "" {
			return notFound(c)
		}
		if f, ok = s.client.files[indexName]; !ok {
			return c.HTML(http.StatusServiceUnavailable, unbuilt)
		}
	}
	h := c.Response().Header()
	h.Set("Content-Type", f.kind)
	h.Add("Vary", "Accept-Encoding")
	if strings.HasPrefix(name, assetsDir) {
		h.Set("Cache-Control", "public, max-age=31536000, immutable")
	} else {
		h.Set("Cache-Control", "no-cache")
		h.Set("ETag", f.etag)
		if c.Request().Header.Get("If-None-Match") == f.etag {
			return c.NoContent(http.StatusNotModified)
		}
	}
	body := f.body
	if f.packed != nil && acceptsGzip(c) {
		h.Set("Content-Encoding", "gzip")
		body = f.packed
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	return c.Blob(http.StatusOK, f.kind, body)
}

const unbuilt = `<!doctype html><meta charset="utf-8"><title>Evenpull</title>
<h1>The server runs; the app is not in it yet</h1>
<p>This program was built without its client. In the project's folder run <code>npm start</code>, or
<code>npm run build</code> for one program with everything inside.</p>
`
