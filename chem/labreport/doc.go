// Package labreport answers: what does this report say?
package labreport
