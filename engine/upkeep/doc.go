// Package upkeep says what the jobs of a pump come to over its hours: how what was
// measured wears and when it reaches its limit, how long parts last, what falls due,
// and which troubles came back. It reads a pump of a rig (evidence/rig) by the
// rulebook; nothing is stored by it.
package upkeep
