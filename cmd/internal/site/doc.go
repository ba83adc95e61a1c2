// Package site shows the same talk, pages and pictures as the terminal, as pages for
// a browser at this machine: html/template, forms and a redirect after each post, so
// that no script is needed. The files of its folder are its only state, besides what
// a talk has come to since the program was started.
//
// Who may ask for a page, and how large a request may be, is the business of package
// listen.
package site
