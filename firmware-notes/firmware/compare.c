#include "compare.h"

volatile uint8_t late_edges;
