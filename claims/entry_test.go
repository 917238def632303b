package claims

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const goodEntry = `{"id":"01920000-0000-7000-9000-000000000001","shop":"corner-shop","job":"01920000-0000-7000-8000-000000000001","kind":"note","at":"2026-03-04T09:00:00.12-05:00","by":"kim","device":"phone-1","seq":1,"body":{"text":"hello"}}`

func TestParseEntry(t *testing.T) {
	e, err := ParseEntry([]byte(goodEntry))
	require.NoError(t, err)
	assert.Equal(t, Kind("note"), e.Kind)
	_, offset := e.At.Zone()
	assert.Equal(t, -5*3600, offset, "the zone offset is kept")

	replace := func(old, new string) string {
		require.Contains(t, goodEntry, old)
		return strings.Replace(goodEntry, old, new, 1)
	}
	for _, c := range []struct{ name, raw, where, says string }{
		{"Empty", "", "", "one JSON object"},
		{"NotJSON", "{what", "", "not well-formed"},
		{"Array", "[]", "", "one JSON object"},
		{"Trailing", goodEntry + "{}", "", ""},
		{"Spaces", replace(`,"by"`, `, "by"`), "", "compact"},
		{"UnknownField", replace(`"by":`, `"colour":"red","by":`), "colour", "no such field"},
		{"FieldTwice", replace(`"by":"kim"`, `"by":"kim","by":"lee"`), "", "stands twice"},
		{"FieldTwiceInOtherCase", replace(`"by":"kim"`, `"by":"kim","BY":"lee"`), "", "stands twice"},
		{"UnknownFieldInBody", replace(`"text":"hello"`, `"text":"hello","size":1`), "body.size", "no such field"},
		{"WrongType", replace(`"text":"hello"`, `"text":7`), "body.text", "must be a text"},
		{"WrongTypeTop", replace(`"seq":1`, `"seq":"one"`), "seq", "whole number"},
		{"BodyNotObject", replace(`{"text":"hello"}`, `"hello"`), "body", "object"},
		{"YearZero", replace("2026-03-04", "0000-03-04"), "at", "between the years"},
		{"Year3000", replace("2026-03-04", "3000-03-04"), "at", "between the years"},
		{"NoZone", replace(".12-05:00", ".12"), "at", "RFC 3339"},
		{"NotADay", replace("2026-03-04", "2026-02-30"), "at", "RFC 3339"},
		{"BadID", replace("01920000-0000-7000-9000", "0192"), "id", "UUID"},
		{"PathAsID", replace(`"id":"01920000-0000-7000-9000-000000000001"`, `"id":"../../../../etc/passwd-000000000000"`), "id", "UUID"},
		{"BadShop", replace("corner-shop", "../shop"), "shop", "shop"},
		{"BadKind", replace(`"kind":"note"`, `"kind":"No Te"`), "kind", "kind"},
		{"EmptyText", replace("hello", " "), "body.text", "needed"},
		{"SecondWithoutPrev", replace(`"seq":1`, `"seq":2`), "prev", "hash"},
		{"CorrectionWithoutReason", replace(`"seq":1`, `"seq":1,"supersedes":"01920000-0000-7000-9000-000000000002"`), "why", "why"},
		{"LineBreakInName", replace(`"by":"kim"`, `"by":"kim\nlee"`), "by", "one line"},
		{"NotUTF8", replace("hello", "\xff\xfe"), "", "UTF-8"},
		{"Deep", replace(`{"text":"hello"}`, `{"text":`+strings.Repeat("[", 40)+strings.Repeat("]", 40)+`}`), "", "nested"},
		{"Huge", replace("hello", strings.Repeat("x", MaxEntry)), "", "at most"},
		{"LongText", replace("hello", strings.Repeat("x", MaxText+1)), "body.text", "at most"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ParseEntry([]byte(c.raw))
			require.Error(t, err)
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, c.where, e.Where)
			assert.Contains(t, e.Says, c.says)
		})
	}
}

func TestUnknownKindIsAccepted(t *testing.T) {
	raw := strings.Replace(strings.Replace(goodEntry, `"kind":"note"`, `"kind":"hologram"`, 1), `{"text":"hello"}`, `{"depth":{"mm":3}}`, 1)
	e, err := ParseEntry([]byte(raw))
	require.NoError(t, err)
	assert.Equal(t, Kind("hologram"), e.Kind)
}

func TestBodiesRefuse(t *testing.T) {
	for _, c := range []struct {
		kind  Kind
		body  string
		where string
	}{
		{KindPhoto, `{"digest":"../../x","bytes":1,"subject":"floor"}`, "digest"},
		{KindPhoto, `{"digest":"` + string(DigestOf(nil)) + `","bytes":0,"subject":"floor"}`, "bytes"},
		{KindPhoto, `{"digest":"` + string(DigestOf(nil)) + `","bytes":1,"subject":"Floor!"}`, "subject"},
		{KindPhoto, `{"digest":"` + string(DigestOf(nil)) + `","bytes":1,"subject":"floor","position":{"lat":91,"lon":0}}`, "position"},
		{KindReading, `{"quantity":"resistance","value":"32.1"}`, "unit"},
		{KindReading, `{"quantity":"resistance","value":"1e9","unit":"Ohm"}`, "value"},
		{KindReading, `{"quantity":"resistance","value":"1","unit":"Ohm","state":"open"}`, "value"},
		{KindReading, `{"quantity":"resistance"}`, "value"},
		{KindCoverage, `{"purchased":"2026-02-30"}`, "purchased"},
		{KindCoverage, `{"kind":"gift"}`, "kind"},
		{KindPart, `{"component":"compressor","action":"hit"}`, "action"},
		{KindPart, `{"component":"compressor","action":"fitted","price":{"minor":100,"currency":"usd"}}`, "price"},
		{KindLeave, `{"gaps":["plate-photo"]}`, "reason"},
		{KindAcknowledge, `{"about":"work-done","outcome":"signed"}`, "name"},
		{KindAcknowledge, `{"about":"work-done","outcome":"absent"}`, "reason"},
		{KindDamage, `{"area":"liner","kind":"ugly","seen":"on-arrival"}`, "kind"},
		{KindTrip, `{"distance":"12"}`, "unit"},
		{KindStrike, `{"entry":"x","reason":"r"}`, "entry"},
		{KindMarkup, `{"photo":"` + string(testID(1)) + `","marks":[{"shape":"ring","x1":2000,"y1":0}]}`, "marks"},
		{KindAllege, `{"area":"liner"}`, "words"},
		{KindAllege, `{"area":"liner","words":"w","x":1001}`, "x"},
		{KindAllege, `{"area":"liner","words":"w","came":"yesterday"}`, "came"},
		{KindStatement, `{"text":"w"}`, "from"},
		{KindStatement, `{"from":"customer"}`, "text"},
		{KindRespond, `{"allegations":[],"letter":"w"}`, "allegations"},
		{KindOffer, `{"allegations":["` + string(testID(1)) + `"],"from":"shop","what":"money"}`, "amount"},
		{KindOffer, `{"allegations":["` + string(testID(1)) + `"],"from":"shop","what":"money","amount":{"minor":-1,"currency":"USD"}}`, "amount"},
		{KindOffer, `{"allegations":["` + string(testID(1)) + `"],"from":"moon","what":"repair"}`, "from"},
		{KindOffer, `{"allegations":["` + string(testID(1)) + `"],"from":"shop","what":"other"}`, "terms"},
		{KindOfferAnswer, `{"offer":"` + string(testID(1)) + `","outcome":"perhaps"}`, "outcome"},
		{KindRelease, `{"text":"w","outcome":"signed","name":"N"}`, "name"},
		{KindRelease, `{"text":"w","outcome":"sent","strokes":[[1]]}`, "strokes"},
		{KindPaidOut, `{"by":"shop","amount":{"minor":0,"currency":"USD"}}`, "amount"},
		{KindInsurer, `{"policy":"P"}`, "insurer"},
		{KindDisputeEnd, `{"allegations":["` + string(testID(1)) + `"],"outcome":"won"}`, "outcome"},
	} {
		t.Run(string(c.kind)+"/"+c.where, func(t *testing.T) {
			raw := strings.Replace(strings.Replace(goodEntry, `"kind":"note"`, `"kind":"`+string(c.kind)+`"`, 1), `{"text":"hello"}`, c.body, 1)
			_, err := ParseEntry([]byte(raw))
			var e *Error
			require.ErrorAs(t, err, &e)
			assert.Equal(t, "body."+c.where, e.Where)
			assert.Equal(t, Invalid, e.Code)
		})
	}
}

func TestSeal(t *testing.T) {
	at := time.Date(2026, 3, 4, 14, 0, 1, 500_000, time.UTC)
	line := Seal(at, []byte(goodEntry))
	assert.True(t, json.Valid(line))
	assert.NotContains(t, string(line), "\n")
	k, err := Unseal(line)
	require.NoError(t, err)
	assert.Equal(t, goodEntry, string(k.Raw), "the device's exact bytes come back")
	assert.True(t, k.Received.Equal(at))
	_, err = Unseal(bytes.Replace(line, []byte("Z"), []byte("+00:00"), 1))
	require.Error(t, err, "one entry has one sealed form")
}

// What ParseEntry accepts is kept byte for byte, and understood the same way after keeping.
func FuzzParseEntry(f *testing.F) {
	f.Add([]byte(goodEntry))
	f.Add([]byte(strings.Replace(goodEntry, `"seq":1`, `"seq":1,"clock":{"offsetMs":-120,"uncertaintyMs":40}`, 1)))
	f.Add([]byte(strings.Replace(strings.Replace(goodEntry, "note", "reading", 1), `{"text":"hello"}`, `{"quantity":"resistance","value":"32.1","unit":"Ohm"}`, 1)))
	f.Add([]byte(`{"id":"","body":{}}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		e, err := ParseEntry(raw)
		if err != nil {
			if CodeOf(err) == "" {
				t.Fatalf("an error without a sentence: %v", err)
			}
			return
		}
		k, err := Unseal(Seal(e.At, raw))
		if err != nil {
			t.Fatalf("accepted, but can't be read again: %v", err)
		}
		if !bytes.Equal(k.Raw, raw) || k.ID != e.ID || k.Kind != e.Kind || !k.At.Equal(e.At) {
			t.Fatal("changed by keeping")
		}
		j := Fold([]Kept{k})
		if j.Entries != 1 {
			t.Fatal("lost by folding")
		}
	})
}
