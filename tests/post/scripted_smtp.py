# SPDX-License-Identifier: Apache-2.0
"""An SMTP server that fails as it is told, for what a real server cannot be made to show.

scripted_smtp.py FOLDER SCRIPT...

Serves one connection for each script, one behind the other, then goes on accepting whatever comes. With TLS from
the first byte by FOLDER/server.pem, but for the script "plain". Prints its port, then a line for what happens:
"at STAGE" as a stage is reached, and "accepted SHA256" for a message it took over, dots undone.

Stages: greeting, ehlo, auth, mail, rcpt, data, body (a part of the message is in), dot (all of it is in), quit.
Scripts:
  ok                  takes the message over
  cut:STAGE           closes the connection instead of replying
  half:STAGE          sends half a reply line, then closes
  hang:STAGE          says nothing more
  say:STAGE:REPLY     gives this reply
  accept_and_cut      takes the message over, says so, and closes
  accept_unheard      takes the message over and closes without saying so
  size:N              takes messages of N bytes, as it says at the greeting
  plain               knows no TLS
"""
import hashlib
import os
import pathlib
import select
import socket
import ssl
import sys
import threading


class Closed(Exception):
    pass


def tell(*words):
    print(*words, flush=True)


class Conversation:
    def __init__(self, connection, script):
        self.stream = connection.makefile("rwb")
        self.connection = connection
        self.words = script.split(":", 2)

    def is_told(self, action, stage):
        return self.words[0] == action and self.words[1] == stage

    def reply(self, stage, line):
        tell("at", stage)
        if self.is_told("cut", stage):
            raise Closed
        if self.is_told("half", stage):
            self.stream.write(line.encode()[:2])
            self.stream.flush()
            raise Closed
        if self.is_told("hang", stage):
            self.hang()
        if self.is_told("say", stage):
            line = self.words[2]
        self.stream.write(line.encode() + b"\r\n")
        self.stream.flush()
        return line[0] in "23"

    def hang(self):
        """Says nothing more, and for some seconds reads nothing, until the other side has gone, so that the next
        connection is served then. The end of a side that was killed comes only behind what it had sent."""
        gone = select.poll()
        gone.register(self.connection, select.POLLRDHUP)
        if not gone.poll(4_000):
            self.connection.settimeout(60)
            try:
                while self.connection.recv(65536):
                    pass
            except OSError:
                pass
        raise Closed

    def line(self):
        line = self.stream.readline()
        if not line:
            raise Closed
        return line

    def body(self):
        content = []
        told = False
        while True:
            line = self.line()
            if line == b".\r\n":
                return b"".join(content)
            content.append(line[1:] if line.startswith(b".") else line)
            if not told and len(content) == 5:
                told = True
                tell("at", "body")
                if self.is_told("cut", "body"):
                    raise Closed
                if self.is_told("hang", "body"):
                    self.hang()

    def hold(self):
        self.reply("greeting", "220 scripted.example ESMTP")
        while True:
            verb = self.line().split()[0].upper().decode()
            if verb == "EHLO":
                size = f"\r\n250-SIZE {self.words[1]}" if self.words[0] == "size" else ""
                self.reply("ehlo", f"250-scripted.example{size}\r\n250 AUTH PLAIN" if self.words[0] != "plain"
                           else "250 scripted.example")
            elif verb == "AUTH":
                self.stream.write(b"334 \r\n")
                self.stream.flush()
                self.line()
                self.reply("auth", "235 come in")
            elif verb in ("MAIL", "RCPT"):
                self.reply(verb.lower(), "250 fine")
            elif verb == "DATA":
                if not self.reply("data", "354 go ahead"):
                    continue
                message = self.body()
                digest = hashlib.sha256(message).hexdigest()
                if self.words[0] == "accept_unheard":
                    tell("at dot")
                    tell("accepted", digest)
                    raise Closed
                if self.reply("dot", "250 taken over"):
                    tell("accepted", digest)
                if self.words[0] == "accept_and_cut":
                    raise Closed
            elif verb == "QUIT":
                self.reply("quit", "221 bye")
                raise Closed
            else:
                self.stream.write(b"502 not here\r\n")
                self.stream.flush()


def serve(listener, context, scripts):
    turn = 0
    while True:
        connection, _ = listener.accept()
        script = scripts[turn] if turn < len(scripts) else "ok"
        turn += 1
        try:
            if script != "plain":
                connection = context.wrap_socket(connection, server_side=True)
            Conversation(connection, script).hold()
        except (Closed, OSError):
            pass
        finally:
            # At once and without ceremony, as a machine that fails.
            connection.close()


def main():
    folder = pathlib.Path(sys.argv[1])
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(folder / "server.pem", folder / "server.key")
    listener = socket.create_server(("127.0.0.1", 0))
    # A whole message would fit into what the system may hold for a server that reads no more.
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    tell(listener.getsockname()[1])
    threading.Thread(target=serve, args=(listener, context, sys.argv[2:]), daemon=True).start()
    sys.stdin.read()
    os._exit(0)


main()
