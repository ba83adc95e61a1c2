package hear

import (
	"fmt"
	"os"
	"telltale/evidence"
	"telltale/evidence/speech"
	"telltale/rules"
	"testing"
)

func TestDbg(t *testing.T) {
	s := os.Getenv("DBG")
	if s == "" {
		t.Skip()
	}
	b, _ := rules.BuiltIn()
	l := New(b)
	ws := speech.Words(s)
	its := l.items(ws, false)
	lay := evidence.Layout{Action: evidence.Triplex, Cylinders: evidence.DefaultCylinders(evidence.Triplex)}
	markPlaces(s, ws, its, lay)
	for _, it := range its {
		name := ""
		if it.same != nil {
			name = it.same.ID
		}
		idf := 0.0
		if it.term >= 0 {
			idf = l.idf[it.term]
		}
		fmt.Printf("%q role=%s same=%s term=%d idf=%.1f num=%v place=%v slip=%v\n", told(s, ws, it.from, it.to), it.role, name, it.term, idf, it.isNumber, it.placeNumber, it.slip)
	}
}
