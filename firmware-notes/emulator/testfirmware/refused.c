/* Uses what is not modelled. */
#include <avr/io.h>

int main(void)
{
	OCR0A = 17;
	for (;;)
		;
}
