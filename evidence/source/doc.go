// Package source reads YAML that people write by hand and says, for every
// mistake, where it stands, what was read and what was expected.
//
// It is the only package that imports a YAML library. Anchors, aliases, tags,
// merge keys and second documents are refused, so a file is exactly what it
// looks like; size, depth and number of nodes are bounded, so a file from a
// stranger costs bounded time and memory. What people usually write is read
// without the library (plain.go), to the same trees.
//
// It imports nothing of telltale.
package source
