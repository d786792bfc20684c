package web

import (
	"encoding/base64"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"
	"github.com/labstack/echo/v4"

	"evenpull/server/store"
	"evenpull/sync/ops"
)

// Whatever stands in the place of a token, only what this server signed lets a
// phone in, and as the phone that it was given to.
func FuzzToken(f *testing.F) {
	st := store.Memory()
	f.Cleanup(func() { st.Close() })
	now := time.Unix(1_800_000_000, 0)
	s := &Server{Config: Config{Store: st, Now: func() time.Time { return now }}}
	claims := jwt.RegisteredClaims{Audience: jwt.ClaimStrings{st.Server()}, Subject: ops.ID{7}.String(), ExpiresAt: jwt.NewNumericDate(now.Add(tokenLife))}
	good, err := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims).SignedString(st.Key())
	if err != nil {
		f.Fatal(err)
	}
	parts := strings.Split(good, ".")
	enc := base64.RawURLEncoding.EncodeToString
	for _, text := range []string{good, "", ".", "..", "a.b.c", good + ".", good[:len(good)-2], parts[0] + "." + parts[1] + ".",
		enc([]byte(`{"alg":"none"}`)) + "." + parts[1] + ".", enc([]byte(`{"alg":"HS256","kid":"../../key"}`)) + "." + parts[1] + "." + parts[2],
		enc([]byte(`{"alg":"EdDSA","jwk":{"kty":"OKP"}}`)) + "." + parts[1] + "." + parts[2], parts[0] + "." + enc([]byte(strings.Repeat("[", 5000))) + "." + parts[2]} {
		f.Add(text)
	}
	e := echo.New()
	f.Fuzz(func(t *testing.T, text string) {
		var phone any
		req := httptest.NewRequest(http.MethodGet, "/", nil)
		req.Header.Set("Authorization", "Bearer "+text)
		err := s.signedIn(func(c echo.Context) error { phone = c.Get("phone"); return nil })(e.NewContext(req, httptest.NewRecorder()))
		if err != nil {
			if f := faultOf(err); statusOf[f.Kind] != http.StatusUnauthorized {
				t.Errorf("%q: %v", text, err)
			}
			return
		}
		if got := strings.Split(text, "."); phone != (ops.ID{7}) || len(got) != 3 || !slices.Equal(got[:2], parts[:2]) {
			t.Errorf("%q lets %v in", text, phone)
		}
	})
}
