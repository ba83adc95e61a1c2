// Package dialogue is the conversation that fills a case: it puts what
// engine/interview decides into questions, takes the answers, and has each
// answer written before the next question is asked.
//
// It imports engine, engine/interview, evidence, evidence/record, rules,
// cmd/internal/page and cmd/internal/talk.
package dialogue
