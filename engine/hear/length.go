package hear

import (
	"fmt"

	"telltale/evidence/speech"
)

// What is heard at once. LongestStory is in bytes, and bounds what is read of a story;
// what hearing takes grows with the words.
const (
	LongestStory = 64 << 10
	MostWords    = 1500
)

// TooLongError says that a story is too long to be heard at once.
type TooLongError struct {
	Words int // that it has; 0: it has more bytes than are read
}

// Error says how long it is, how long it may be, and what to do.
func (e *TooLongError) Error() string {
	has := fmt.Sprintf("more than %d bytes", LongestStory)
	if e.Words > 0 {
		has = fmt.Sprintf("%d words", e.Words)
	}
	return fmt.Sprintf("the story has %s; at most %d words are heard at once, and nothing of it was heard. Tell it in parts", has, MostWords)
}

// TooLong says how a story is too long to be heard at once; nil if it is not. Whoever
// takes a story from somebody asks before he hears it.
func TooLong(story string) error {
	if len(story) > LongestStory {
		return &TooLongError{}
	}
	if n := len(speech.Words(story)); n > MostWords {
		return &TooLongError{Words: n}
	}
	return nil
}
