// Package dialogue is the conversation that fills a case. Talk.Next says what is
// put to the crew, a plain function of the case file's text and the State of the
// sitting; Talk.Answer turns an answer into edits of the case and the State after
// it. What engine/interview decides is put into questions here. Nothing in it
// knows how a prompt is shown.
//
// A Sitting is a talk over a file: it writes every answer before the next prompt,
// and refuses one that was given to a case that somebody changed in between. A Work
// is all the talk over one case; Rig and Jobs, which come before it, are those in
// which the case is chosen.
package dialogue
