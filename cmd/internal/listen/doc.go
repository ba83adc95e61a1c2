// Package listen lets the browser of this machine in and nobody else: an address of
// the machine itself, a secret of each start, a guard before every request, bounds on
// what one may take, and an end that breaks off no answer. It knows nothing of pumps.
package listen
