// Package linkage is the way from the servo's arm to the carburettor's open
// area: a four-bar linkage and a rotary barrel.
package linkage
