/* The capture firmware without the cure for an overflow that is still waiting. */
#define UNCURED
#include "capture.c"
