//go:build !unix

package record

import "errors"

func makePipe(string) error { return errors.ErrUnsupported }
