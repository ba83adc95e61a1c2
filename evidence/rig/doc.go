// Package rig reads the folder of a rig: pumps/NAME.yaml, what stands of each pump,
// and jobs/*.yaml, one case each, which names its pump under job:. Nothing is stored
// twice: what a pump went through is read from its jobs.
//
// A file that cannot be read is named, and the rest goes on. A link that leads out
// of the folder is not followed.
package rig
