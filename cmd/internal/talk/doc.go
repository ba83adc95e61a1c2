// Package talk holds a conversation in any terminal: text out, one line in,
// numbered answers, no colour and no cursor movement. Of telltale it imports
// cmd/internal/page, which wraps its lines.
package talk
