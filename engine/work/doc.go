// Package work says what to do about a case that was weighed: the door is Plan,
// which gives the list of steps in its order, safety steps first; OpenOnce adds
// what the plan to open a pump once needs besides. The order itself is worked
// out by package order.
package work
