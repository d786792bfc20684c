package account

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"net/netip"
	"strings"
	"testing"
	"time"

	"evenpull/server/fault"
	"evenpull/sync/ops"
)

func TestCodesAreReadAsPeopleTypeThem(t *testing.T) {
	want, err := HashCode("7KMW-2RTA")
	if err != nil {
		t.Fatal(err)
	}
	for typed, ok := range map[string]bool{
		"7kmw2rta": true, " 7KMW 2RTA ": true, "7K-MW-2R-TA": true,
		"": false, "7KMW2RT": false, "7KMW2RTAA": false, "0KMW2RTA": false, "7KMW2RT\u0000": false, "７KMW2RTA": false, strings.Repeat("7", 1000): false,
	} {
		got, err := HashCode(typed)
		if ok && (err != nil || got != want) || !ok && !fault.Is(err, fault.Denied) {
			t.Errorf("%.20q: %v, %v; want it read: %v", typed, got, err, ok)
		}
	}
}

func TestCodesDifferAndUseTheWholeAlphabet(t *testing.T) {
	seen, letters := map[string]bool{}, map[rune]int{}
	for range 5000 {
		code := NewCode()
		if _, err := HashCode(code); err != nil || len(code) != codeLength+1 || seen[code] {
			t.Fatalf("code %q: %v, or it came before", code, err)
		}
		seen[code] = true
		for _, r := range code {
			letters[r]++
		}
	}
	for _, r := range alphabet { // 40,000 letters, 1,667 of each on average; 6 standard deviations are 240
		if n := letters[r]; n < 1427 || n > 1907 {
			t.Errorf("%c came %d times of 40,000", r, n)
		}
	}
	for _, r := range "01OILQB8" {
		if strings.ContainsRune(alphabet, r) {
			t.Errorf("%c looks like another", r)
		}
	}
}

func TestNames(t *testing.T) {
	for name, ok := range map[string]bool{
		"Ines": true, "  Rosa  ": true, "<b>": true, strings.Repeat("é", 80): true,
		"": false, "   ": false, strings.Repeat("é", 81): false, "a\nb": false, "a\x00": false, "\xff": false,
	} {
		if got, err := Name("person.name", name); (err == nil) != ok || ok && got != strings.TrimSpace(name) {
			t.Errorf("%.20q: %q, %v", name, got, err)
		}
	}
}

func TestKeysAndSignatures(t *testing.T) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	raw, err := key.PublicKey.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	enc := base64.RawURLEncoding.EncodeToString
	p, err := ReadKey(enc(raw))
	again, _ := ReadKey(enc(raw))
	if err != nil || p.ID == (ops.ID{}) || p.ID != again.ID {
		t.Fatalf("phone %v, then %v; %v", p.ID, again.ID, err)
	}
	off := append([]byte(nil), raw...)
	off[64] ^= 1
	for what, text := range map[string]string{"off the curve": enc(off), "short": enc(raw[:64]), "compressed": enc(elliptic.MarshalCompressed(elliptic.P256(), key.X, key.Y)),
		"padded": enc(raw) + "=", "infinity": enc([]byte{0}), "empty": "", "not base64": "!"} {
		if _, err := ReadKey(text); !fault.Is(err, fault.Invalid) {
			t.Errorf("%s: %v", what, err)
		}
	}
	sum := sha256.Sum256([]byte("text"))
	r, s, err := ecdsa.Sign(rand.Reader, key, sum[:])
	if err != nil {
		t.Fatal(err)
	}
	sig := append(r.FillBytes(make([]byte, 32)), s.FillBytes(make([]byte, 32))...)
	if !p.Signed("text", enc(sig)) {
		t.Error("its own signature is refused")
	}
	zero := make([]byte, 64)
	for what, bad := range map[string]bool{"other text": p.Signed("texts", enc(sig)), "zeros": p.Signed("text", enc(zero)), "short": p.Signed("text", enc(sig[:63])),
		"swapped": p.Signed("text", enc(append(sig[32:64:64], sig[:32]...))), "no phone": Phone{}.Signed("text", enc(sig))} {
		if bad {
			t.Errorf("%s: taken", what)
		}
	}
}

func TestWaitsGrowForOneAddressAndLittleForOthers(t *testing.T) {
	var w Waits
	now := time.Unix(1_800_000_000, 0)
	one, other := netip.MustParseAddr("192.0.2.1"), netip.MustParseAddr("192.0.2.2")
	var got []time.Duration
	for range 12 {
		got = append(got, w.Failed(Network(one), now)/time.Second)
	}
	want := []time.Duration{0, 0, 0, 0, 0, 1, 2, 4, 8, 16, 30, 30}
	for i := range want {
		if got[i] != want[i] {
			t.Fatalf("waits %v; want %v", got, want)
		}
	}
	if d := w.Failed(Network(other), now); d != 0 {
		t.Errorf("another address waits %v for it", d)
	}
	if d := w.Failed(Network(one), now.Add(forgetAfter+time.Second)); d != 0 {
		t.Errorf("after a pause it still waits %v", d)
	}
	six := netip.MustParseAddr("2001:db8::1")
	for range freeTries {
		w.Failed(Network(six), now)
	}
	if d := w.Failed(Network(netip.MustParseAddr("2001:db8::ffff")), now); d == 0 {
		t.Error("another address of the same /64 begins anew")
	}
	for i := range 20000 { // from everywhere at once: memory is bounded, and the common count slows all
		w.Failed(Network(netip.AddrFrom4([4]byte{10, byte(i >> 16), byte(i >> 8), byte(i)})), now)
	}
	if len(w.counts) > mostCounted {
		t.Errorf("%d addresses are remembered", len(w.counts))
	}
	if d := w.Failed(Network(netip.MustParseAddr("198.51.100.7")), now); d == 0 || d > longestAll {
		t.Errorf("a first wrong code in a flood waits %v; want some, at most %v", d, longestAll)
	}
}

func FuzzHashCode(f *testing.F) {
	f.Add("7KMW-2RTA")
	f.Fuzz(func(t *testing.T, code string) {
		if _, err := HashCode(code); err != nil && !fault.Is(err, fault.Denied) {
			t.Error(err)
		}
	})
}
