// Package study scores a rulebook against closed cases, those in which a cause
// was proved: how often what failed was told first, how often what brought it
// on was told first given the failure (never one figure for both), how well the chances are borne
// out, what the planned order would have taken, and which figures of how
// common a cause is the record would move.
//
// It imports engine, engine/lives, evidence and rules.
package study
