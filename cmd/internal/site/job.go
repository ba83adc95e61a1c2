package site

import (
	"html/template"
	"net/http"

	"telltale/cmd/internal/pages"
	"telltale/engine"
)
