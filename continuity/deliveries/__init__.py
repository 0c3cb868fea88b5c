"""Orders told to the outside: mail, webhook, push message, calendar.

Writing an order also writes, in the same transaction, one `Outgoing` for each destination (`outgoing.py`):
its payload is frozen as JSON, its id is the message's id for ever, and its sequence counts the order's
messages to that destination. Changes of the chances and of the sentence about them alone are not told
(`message.py`).

`manage.py deliver`, beside the server, sends what is due (`sender.py`): at least once, in order for each
order and destination, again after a wait that doubles up to half an hour, given up after five days and then
listed for a person to try again. A sender holds a message by a lease, so two of them send no doubles; one
that is killed lets the lease run out, and the message goes again with the same id.

- Mail carries that id as Message-ID and answers the order's first mail, with the cast ticket as it is when
  the mail is sent (`mail.py`).
- Addresses that people have typed in are resolved once, every address found is looked at, and the connection
  goes to one of those (`outside.py`). Private ones are refused unless the settings allow them; redirects and
  proxies are not followed.
- Push messages are signed with a key that is made once, `push-key.pem` in the data directory; if it is lost,
  every phone has to subscribe again (`push.py`).
- The calendar at its secret address is made when it is asked for, and queues nothing (`calendar.py`).
- What the receiver of a webhook has to do stands in `webhook.py`.
"""
