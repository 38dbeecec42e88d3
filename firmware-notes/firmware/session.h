/* The session with the host: messages in, telemetry out. */
#ifndef SESSION_H
#define SESSION_H

/* One round of the main loop. Never waits. */
void session_poll(void);

#endif
