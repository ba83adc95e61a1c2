// Package trainer puts the practice pump and the questions of a quiz to a trainee,
// as prompts. What is right and what is safe is decided by engine/practice; how a
// prompt is shown is not known here.
package trainer
