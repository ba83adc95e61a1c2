package interview

import "telltale/rules"

// Outside says whether a cause is put right away from the pump, such as by the
// driller or in the mud: nobody opens or touches the pump for it.
func Outside(book *rules.Book, cause string) bool {
	return book.Causes.Get(cause).Behind == rules.BehindNothing
}
