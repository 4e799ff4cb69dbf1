# SPDX-License-Identifier: Apache-2.0
"""Starts Dovecot (IMAP) and Exim (SMTP) from Debian on loopback, in a folder of their own and without any rights.

mail_servers.py FOLDER

Both speak TLS from the first byte and by STARTTLS, with the certificate FOLDER/server.pem for "localhost", made by
the authority FOLDER/ca.pem. The one login is "ida" with the password "Ashmeer-7"; what Exim takes over for any address
goes to ida's Maildir, which Dovecot serves. Prints one JSON line with the ports when both listen,
and stops them when its standard input ends.
"""
import json
import os
import pathlib
import pwd
import grp
import signal
import socket
import subprocess
import sys
import time

NOBODY = 65534


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def run(*words, cwd):
    subprocess.run(words, cwd=cwd, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def make_certificates(folder):
    """An authority, a certificate for localhost, and another authority that made neither."""
    for name in ("ca", "other-ca"):
        run("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2",
            "-subj", f"/CN=Test authority {name}", "-keyout", f"{name}.key", "-out", f"{name}.pem", cwd=folder)
    (folder / "names").write_text("subjectAltName=DNS:localhost\n")
    run("openssl", "req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-subj", "/CN=localhost",
        "-keyout", "server.key", "-out", "server.csr", cwd=folder)
    run("openssl", "x509", "-req", "-in", "server.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial",
        "-days", "2", "-extfile", "names", "-out", "server.pem", cwd=folder)


def dovecot_settings(folder, user, group, ports):
    return f"""
base_dir = {folder}/run
state_dir = {folder}/state
log_path = {folder}/dovecot.log
protocols = imap
listen = 127.0.0.1
ssl = required
ssl_cert = <{folder}/server.pem
ssl_key = <{folder}/server.key
default_internal_user = {user}
default_internal_group = {group}
default_login_user = {user}
auth_mechanisms = plain login
mail_location = maildir:~/Maildir
first_valid_uid = 1
passdb {{
  driver = static
  args = user=ida password=Ashmeer-7
}}
userdb {{
  driver = static
  args = uid={os.geteuid()} gid={os.getegid()} home={folder}/mail/%u
}}
service imap-login {{
  chroot =
  inet_listener imap {{
    port = {ports["imap_starttls"]}
  }}
  inet_listener imaps {{
    port = {ports["imap"]}
    ssl = yes
  }}
}}
service anvil {{
  chroot =
}}
service stats {{
  chroot =
}}
"""


def exim_settings(folder, user, group, ports):
    # Who may run it as a server: whoever starts this test.
    return f"""
admin_groups = {group}
exim_user = {user}
exim_group = {group}
keep_environment =
primary_hostname = localhost
spool_directory = {folder}/spool
log_file_path = {folder}/exim-%slog
pid_file_path = {folder}/exim.pid
local_interfaces = <; [127.0.0.1]:{ports["smtp"]} ; [127.0.0.1]:{ports["smtp_starttls"]}
tls_on_connect_ports = {ports["smtp"]}
tls_advertise_hosts = *
tls_certificate = {folder}/server.pem
tls_privatekey = {folder}/server.key
auth_advertise_hosts = ${{if eq{{$tls_in_cipher}}{{}}{{}}{{*}}}}
message_size_limit = 25M
acl_smtp_rcpt = rcpt
begin acl
rcpt:
  deny message = no such mailbox here
       local_parts = nobody-here
  accept authenticated = *
  deny
begin routers
all:
  driver = accept
  transport = maildir
begin transports
maildir:
  driver = appendfile
  directory = {folder}/mail/ida/Maildir
  maildir_format
  user = {user}
  group = {group}
begin authenticators
plain:
  driver = plaintext
  public_name = PLAIN
  server_prompts = :
  server_condition = ${{if and{{{{eq{{$auth2}}{{ida}}}}{{eq{{$auth3}}{{Ashmeer-7}}}}}}}}
  server_set_id = $auth2
"""


def wait_for(ports, folder):
    until = time.monotonic() + 20
    for port in ports.values():
        while True:
            try:
                socket.create_connection(("127.0.0.1", port), 1).close()
                break
            except OSError:
                if time.monotonic() > until:
                    logs = "\n".join(path.read_text() for path in folder.glob("*log"))
                    sys.exit(f"the mail servers do not listen\n{logs}")
                time.sleep(0.05)


def main():
    folder = pathlib.Path(sys.argv[1])
    if os.geteuid() == 0:
        os.chown(folder, NOBODY, NOBODY)
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    os.umask(0o022)
    for name in ("run", "state", "spool", "mail"):
        (folder / name).mkdir()
    make_certificates(folder)
    ports = {name: free_port() for name in ("imap", "imap_starttls", "smtp", "smtp_starttls")}
    user, group = pwd.getpwuid(os.geteuid()).pw_name, grp.getgrgid(os.getegid()).gr_name
    (folder / "dovecot.conf").write_text(dovecot_settings(folder, user, group, ports))
    (folder / "exim.conf").write_text(exim_settings(folder, user, group, ports))
    noise = open(folder / "noise.log", "wb")
    quiet = {"stdin": subprocess.DEVNULL, "stdout": noise, "stderr": noise, "cwd": folder}
    servers = [
        subprocess.Popen(["/usr/sbin/dovecot", "-F", "-c", folder / "dovecot.conf"], **quiet),
        subprocess.Popen(["/usr/sbin/exim4", "-C", folder / "exim.conf", "-bdf"], **quiet),
    ]
    try:
        wait_for(ports, folder)
        print(json.dumps(ports), flush=True)
        sys.stdin.read()
    finally:
        for server in servers:
            server.send_signal(signal.SIGTERM)
        for server in servers:
            server.wait()


main()
