package site

import (
	"sync"
)

// mostSeen is how many texts of cases are remembered, so that a form of one can say what
// changed since, and mostBytes of how many bytes together.
const (
	mostSeen  = 400
	mostBytes = 32 << 20
)

// seen are the texts that forms were made from, by their digest.
type seen struct {
	sync.Mutex
	texts map[string][]byte
	order []string
	bytes int
}

// put remembers a text and gives its digest.
func (s *seen) put(text []byte) string {
	s.Lock()
	defer s.Unlock()
	name := digest(string(text))
	if s.texts == nil {
		s.texts = map[string][]byte{}
	}
	if s.texts[name] == nil {
		s.texts[name], s.order = append([]byte{}, text...), append(s.order, name)
		for s.bytes += len(text); len(s.order) > 1 && (len(s.order) > mostSeen || s.bytes > mostBytes); s.order = s.order[1:] {
			s.bytes -= len(s.texts[s.order[0]])
			delete(s.texts, s.order[0])
		}
	}
	return name
}

func (s *seen) get(name string) []byte {
	s.Lock()
	defer s.Unlock()
	return s.texts[name]
}
