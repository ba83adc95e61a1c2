package page

import "strings"

// plain keeps text from a file from acting as Markdown or HTML.
var plain = strings.NewReplacer(
	"\\", "\\\\", "`", "\\`", "*", "\\*", "_", "\\_", "[", "\\[", "]", "\\]",
	"<", "&lt;", ">", "&gt;", "|", "\\|", "#", "\\#", "\n", " ", "\r", " ",
).Replace
