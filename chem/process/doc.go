// Package process answers: what does this stage do to this water?
package process
