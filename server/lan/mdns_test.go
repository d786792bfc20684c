package lan

import (
	"net"
	"testing"
	"time"

	"github.com/pion/mdns/v2"
	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"
)

// The question goes straight to the program's own socket: that it reaches other
// machines by multicast can't be tested on one.
func TestTheNameIsAnswered(t *testing.T) {
	conn, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	asker, err := net.ListenUDP("udp4", &net.UDPAddr{IP: net.IPv4(127, 0, 0, 1)})
	if err != nil {
		t.Fatal(err)
	}
	defer asker.Close()
	answers := ipv4.NewPacketConn(asker)
	if err := answers.SetControlMessage(ipv4.FlagTTL, true); err != nil {
		t.Fatal(err)
	}
	running, err := answer(conn, []string{"lantern.local"}, mdns.WithIncludeLoopback(true), mdns.WithLocalAddress(net.IPv4(192, 168, 4, 1)))
	if err != nil {
		t.Fatal(err)
	}
	defer running.Close()
	ask := func(name string, wait time.Duration) *dnsmessage.Message {
		question := dnsmessage.Message{Header: dnsmessage.Header{ID: 7}, Questions: []dnsmessage.Question{{Name: dnsmessage.MustNewName(name), Type: dnsmessage.TypeA, Class: dnsmessage.ClassINET}}}
		raw, err := question.Pack()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := asker.WriteTo(raw, conn.LocalAddr()); err != nil {
			t.Fatal(err)
		}
		buffer := make([]byte, 1500)
		if err := asker.SetReadDeadline(time.Now().Add(wait)); err != nil {
			t.Fatal(err)
		}
		n, head, _, err := answers.ReadFrom(buffer)
		if err != nil {
			return nil
		}
		if head == nil || head.TTL != 1 {
			t.Errorf("the answer goes beyond the hub's own network: %v", head)
		}
		var got dnsmessage.Message
		if err := got.Unpack(buffer[:n]); err != nil {
			t.Fatal(err)
		}
		return &got
	}
	got := ask("lantern.local.", 10*time.Second)
	if got == nil || len(got.Answers) != 1 {
		t.Fatalf("answered %+v", got)
	}
	if a, ok := got.Answers[0].Body.(*dnsmessage.AResource); !ok || a.A != [4]byte{192, 168, 4, 1} {
		t.Errorf("answered %+v", got.Answers[0])
	}
	if got := ask("other.local.", 200*time.Millisecond); got != nil {
		t.Errorf("another's name was answered: %+v", got)
	}
}
