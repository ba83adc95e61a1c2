// Package words says chances, times, places and lengths in words and figures,
// with no more digits than are known. It lays nothing out.
package words
