/*
 * Names of the ATmega328P's registers, bits and interrupt vectors.
 *
 * avr-libc already lists them. Read as an assembler would read them, they are
 * plain data-space addresses, which is what the models need on the host.
 */
#ifndef REGS_H
#define REGS_H

#define _AVR_IO_H_ /* iom328p.h insists on being included from avr/io.h */
#define __ASSEMBLER__ 1
#include <avr/sfr_defs.h>
#include <avr/iom328p.h>
#undef __ASSEMBLER__

#define VECTOR_COUNT 26

#endif
