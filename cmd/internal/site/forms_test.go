package site

import (
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/assert"

	"telltale/cmd/internal/pages"
)

// The first page leads to the blank forms, each for each kind of pump; what is no form
// is not found.
func TestBlankFormsAreFound(t *testing.T) {
	f := over(t, isolatedPump)
	get := func(at string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		f.site.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, at, nil))
		return w
	}
	assert.Contains(t, get("/").Body.String(), `href="/forms"`)
	list := get("/forms").Body.String()
	for _, form := range f.book.Forms.List {
		for _, kind := range pages.PumpKinds() {
			at := "/forms/" + form.ID + "/" + kind.Name
			assert.Contains(t, list, `href="`+at+`"`)
			page := get(at)
			assert.Equal(t, http.StatusOK, page.Code, at)
			assert.Contains(t, page.Body.String(), "BLANK FORM.", at)
		}
	}
	for _, at := range []string{"/forms/valve/triplex", "/forms/valves/quintuplex"} {
		assert.Equal(t, http.StatusNotFound, get(at).Code, at)
	}
}
