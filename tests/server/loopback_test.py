#!/usr/bin/env python3
"""The practice site on a real socket: what is sent by browsers, by the clumsy and by the malicious; time-outs,
limits, TLS, stopping.    loopback_test.py EVENHAND"""
import http.client, json, os, re, signal, socket, ssl, subprocess, sys, tempfile, threading, time, unittest

program = sys.argv.pop(1)
PASSPHRASE = "four purple owls"


class Serving:
    """`evenhand serve` in a folder of its own, on a free port."""

    def __init__(self, *options, folder=None, env=None):
        self.folder = folder or tempfile.mkdtemp()
        self.log = open(os.path.join(self.folder, "log"), "ab")
        self.process = subprocess.Popen(
            [program, "serve", "--port", "0", "--store", os.path.join(self.folder, "site.db"), *options],
            stdout=subprocess.PIPE, stderr=self.log, text=True, env=env)
        self.said = self.process.stdout.readline()
        found = re.search(r"Serving (https?)://.*(?::| port )(\d+)/?$", self.said)
        assert found, f"it did not say where it serves: {self.said!r} {self.log_text()}"
        self.scheme, self.port = found[1], int(found[2])

    def setup_link(self):
        assert "first instructor" in self.process.stdout.readline()
        return self.process.stdout.readline().strip()

    def connect(self, timeout=20.0):
        return socket.create_connection(("127.0.0.1", self.port), timeout)

    def http(self):
        return http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)

    def stop(self, by=signal.SIGTERM):
        self.process.send_signal(by)
        return self.process.wait(20)

    def log_text(self):
        with open(os.path.join(self.folder, "log"), encoding="utf-8") as log:
            return log.read()

    def memory(self):
        """Resident, in MiB."""
        with open(f"/proc/{self.process.pid}/status") as status:
            return int(re.search(r"VmRSS:\s+(\d+)", status.read())[1]) / 1024

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        self.process.stdout.close()
        self.log.close()


def read_all(connection):
    data = b""
    while True:
        try:
            more = connection.recv(65536)
        except ConnectionResetError:
            return data
        if not more:
            return data
        data += more


def status_of(answer):
    return int(answer.split(b" ", 2)[1]) if answer else None


WRITE = {"Content-Type": "application/json", "Sec-Fetch-Site": "same-origin"}


def post(connection, path, body, **more):
    connection.request("POST", path, json.dumps(body), {**WRITE, **more})
    response = connection.getresponse()
    return response, response.read()


def set_up(serving):
    """The first instructor: the cookie."""
    link = serving.setup_link()
    response, body = post(serving.http(), "/api/setup",
                          {"token": link.split("#")[1], "rater": "ines", "passphrase": PASSPHRASE})
    assert response.status == 201, body
    return response.getheader("Set-Cookie").split(";")[0]


class OneSite(unittest.TestCase):
    """What leaves no trace is tried on one site."""

    @classmethod
    def setUpClass(cls):
        cls.serving = Serving()
        cls.cookie = set_up(cls.serving)

    @classmethod
    def tearDownClass(cls):
        cls.serving.__exit__()

    def say(self, data):
        with self.serving.connect() as connection:
            connection.sendall(data)
            return read_all(connection)

    def test_the_link_signs_in(self):
        connection = self.serving.http()
        connection.request("GET", "/api/me", headers={"Cookie": self.cookie})
        response = connection.getresponse()
        self.assertEqual(json.load(response)["rater"], "ines")

    def test_one_connection_serves_many_requests(self):
        connection = self.serving.http()
        connection.connect()
        local = connection.sock.getsockname()
        for _ in range(50):
            connection.request("GET", "/health")
            response = connection.getresponse()
            self.assertEqual(response.read(), b'{"status":"ok"}')
            self.assertEqual(connection.sock.getsockname(), local)
        self.assertRegex(response.getheader("Date"), r"^\w{3}, \d\d \w{3} \d{4} \d\d:\d\d:\d\d GMT$")

    def test_requests_that_come_together_are_answered_in_order(self):
        one = b"GET /health HTTP/1.1\r\nHost: localhost\r\n\r\n"
        other = b"GET /api/me HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n"
        answer = self.say(one + one + other)
        self.assertEqual(re.findall(rb"HTTP/1.1 (\d+)", answer), [b"200", b"200", b"401"])

    def test_head_is_answered_without_a_body(self):
        answer = self.say(b"HEAD /health HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
        self.assertEqual(status_of(answer), 200)
        self.assertIn(b"Content-Length: 15\r\n", answer)
        self.assertTrue(answer.endswith(b"\r\n\r\n"))

    def test_a_body_past_the_limit_is_refused_when_it_is_announced(self):
        answer = self.say(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                          b"Sec-Fetch-Site: same-origin\r\nContent-Length: 10000000\r\n\r\n")
        self.assertEqual(status_of(answer), 413)

    def test_an_endless_chunked_body_is_refused_and_costs_no_memory(self):
        before = self.serving.memory()
        with self.serving.connect() as connection:
            connection.sendall(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                               b"Sec-Fetch-Site: same-origin\r\nTransfer-Encoding: chunked\r\n\r\n")
            chunk = b"10000\r\n" + b"x" * 0x10000 + b"\r\n"
            sent = 0
            try:
                for _ in range(800):  # 50 MiB
                    connection.sendall(chunk)
                    sent += len(chunk)
            except OSError:
                pass
            answer = b""
            try:
                answer = read_all(connection)
            except OSError:
                pass
        self.assertLess(sent, 20 * 2**20)
        self.assertIn(status_of(answer), (413, None))  # None: it was torn away by what was still being sent
        self.assertLess(self.serving.memory() - before, 8)

    def test_only_so_many_long_bodies_are_read_at_once_whoever_sends_them(self):
        """Before anybody knows who sends them: 800 of the longest from one address would be 0.8 GB."""
        head = (b"POST /api/imports HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                b"Sec-Fetch-Site: same-origin\r\nContent-Length: 1000000\r\n\r\n{")
        waiting = [self.serving.connect() for _ in range(40)]
        try:
            before = self.serving.memory()
            for connection in waiting:
                connection.sendall(head + b" " * 900000)
            refused = []
            for connection in waiting:
                connection.settimeout(0.2)
                try:
                    refused.append(status_of(connection.recv(1000)))
                except socket.timeout:
                    pass
            self.assertEqual(refused, [503] * 8)
            self.assertLess(self.serving.memory() - before, 80)
            # What is short goes on, and places that are left are given again.
            connection = self.serving.http()
            response, _ = post(connection, "/api/sign-in", {"rater": "ines", "passphrase": PASSPHRASE})
            self.assertEqual(response.status, 200)
        finally:
            for connection in waiting:
                connection.close()
        end = time.monotonic() + 10
        status = None
        while status != 401 and time.monotonic() < end:
            try:
                response, _ = post(self.serving.http(), "/api/imports", {"name": "x", "text": " " * 100000})
                status = response.status
            except OSError:
                status = None
        self.assertEqual(status, 401)

    def test_a_chunked_body_just_past_the_limit_is_told_so(self):
        body = b"x" * 9000
        answer = self.say(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                          b"Sec-Fetch-Site: same-origin\r\nTransfer-Encoding: chunked\r\n\r\n"
                          b"%x\r\n%s\r\n0\r\n\r\n" % (len(body), body))
        self.assertEqual(status_of(answer), 413)

    def test_a_chunked_body_within_the_limit_is_read(self):
        body = json.dumps({"rater": "ines", "passphrase": PASSPHRASE}).encode()
        answer = self.say(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                          b"Sec-Fetch-Site: same-origin\r\nTransfer-Encoding: chunked\r\nConnection: close\r\n\r\n"
                          b"%x\r\n%s\r\n%x\r\n%s\r\n0\r\n\r\n" % (10, body[:10], len(body) - 10, body[10:]))
        self.assertEqual(status_of(answer), 200)

    def test_headers_without_end_are_refused(self):
        with self.serving.connect() as connection:
            connection.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\nX: ")
            try:
                for _ in range(100):
                    connection.sendall(b"x" * 10000)
            except OSError:
                pass
            try:
                answer = read_all(connection)
            except OSError:
                answer = b""
        self.assertIn(status_of(answer), (431, None))
        self.assertEqual(status_of(self.say(b"GET / HTTP/1.1\r\nHost: localhost\r\nX: " + b"x" * 17000)), 431)

    def test_what_is_no_http_is_refused(self):
        for data in (b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03", b"nonsense\r\n\r\n",
                     b"GET / HTTP/9.9\r\nHost: x\r\n\r\n", b"GET /\r\n\r\n",
                     b"GET / HTTP/1.1\r\nHost: localhost\r\nBad Name: x\r\n\r\n",
                     b"GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nContent-Length: 6\r\n\r\n",
                     b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n"
                     b"Content-Type: application/json\r\nSec-Fetch-Site: same-origin\r\n\r\n-2\r\n",
                     b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: -5\r\n\r\n",
                     b"GET / HTTP/1.1\r\n\r\n", b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
                     b"GET /%00 HTTP/1.1\r\nHost: localhost\r\n\r\n",
                     b"GET /a/../../etc/passwd HTTP/1.1\r\nHost: localhost\r\n\r\n",
                     b"GET http://localhost/ HTTP/1.1\r\nHost: localhost\r\n\r\n"):
            with self.subTest(data=data):
                self.assertEqual(status_of(self.say(data)), 400)

    def test_a_length_and_chunks_at_once_are_no_way_to_smuggle(self):
        answer = self.say(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4\r\n"
                          b"Transfer-Encoding: chunked\r\nContent-Type: application/json\r\n"
                          b"Sec-Fetch-Site: same-origin\r\n\r\n0\r\n\r\nGET /health HTTP/1.1\r\nHost: localhost\r\n\r\n")
        self.assertEqual(re.findall(rb"HTTP/1.1 (\d+)", answer), [b"400"])

    def test_forty_connections_at_once(self):
        statuses = []

        def one():
            connection = self.serving.http()
            for _ in range(10):
                connection.request("GET", "/api/me", headers={"Cookie": self.cookie})
                response = connection.getresponse()
                response.read()
                statuses.append(response.status)

        threads = [threading.Thread(target=one) for _ in range(40)]
        start = time.monotonic()
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        self.assertEqual(statuses, [200] * 400)
        # One thread a connection would let the forty-first wait for seconds.
        self.assertLess(time.monotonic() - start, 20)

    def test_connections_that_say_nothing_keep_nobody_waiting(self):
        idle = [self.serving.connect() for _ in range(100)]
        try:
            start = time.monotonic()
            connection = self.serving.http()
            connection.request("GET", "/health")
            self.assertEqual(connection.getresponse().status, 200)
            self.assertLess(time.monotonic() - start, 2)
        finally:
            for connection in idle:
                connection.close()

    def test_a_client_that_leaves_in_mid_request_harms_nobody(self):
        for _ in range(20):
            with self.serving.connect() as connection:
                connection.sendall(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\n\r\n{")
        connection = self.serving.http()
        connection.request("GET", "/health")
        self.assertEqual(connection.getresponse().status, 200)

    def test_expect_continue_is_answered(self):
        body = json.dumps({"rater": "ines", "passphrase": PASSPHRASE}).encode()
        with self.serving.connect() as connection:
            connection.sendall(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                               b"Sec-Fetch-Site: same-origin\r\nExpect: 100-continue\r\nConnection: close\r\n"
                               b"Content-Length: %d\r\n\r\n" % len(body))
            self.assertTrue(connection.recv(1000).startswith(b"HTTP/1.1 100 "))
            connection.sendall(body)
            self.assertEqual(status_of(read_all(connection)), 200)


class Slow(unittest.TestCase):
    def test_who_dawdles_is_let_go(self):
        """A header that drips for longer than 30 s; a connection that says nothing; a body that never comes."""
        with Serving() as serving:
            dripping, silent, bodiless = serving.connect(60), serving.connect(60), serving.connect(60)
            bodiless.sendall(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                             b"Sec-Fetch-Site: same-origin\r\nContent-Length: 100\r\n\r\n{")
            start = time.monotonic()
            dripping.settimeout(1.0)
            ended = None
            dripping.sendall(b"GET /health HTTP/1.1\r\nHost: localhost\r\nX: ")
            while ended is None and time.monotonic() - start < 50:
                try:
                    dripping.sendall(b"x")
                    if dripping.recv(100) == b"":
                        ended = time.monotonic() - start
                except socket.timeout:
                    pass
                except OSError:
                    ended = time.monotonic() - start
            self.assertIsNotNone(ended)
            self.assertGreater(ended, 25)
            self.assertLess(ended, 40)
            self.assertEqual(read_all(silent), b"")
            self.assertEqual(read_all(bodiless), b"")
            self.assertLess(time.monotonic() - start, 45)
            for connection in (dripping, silent, bodiless):
                connection.close()


class Stopping(unittest.TestCase):
    def test_it_stops_at_once_when_nothing_is_under_way(self):
        for by in (signal.SIGTERM, signal.SIGINT):
            with Serving() as serving:
                idle = serving.connect()
                time.sleep(0.2)
                start = time.monotonic()
                self.assertEqual(serving.stop(by), 0)
                self.assertLess(time.monotonic() - start, 3)
                self.assertEqual(read_all(idle), b"")
                idle.close()

    def test_what_is_under_way_is_finished(self):
        with Serving() as serving:
            set_up(serving)
            body = json.dumps({"rater": "ines", "passphrase": PASSPHRASE}).encode()
            with serving.connect() as connection:
                connection.sendall(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                                   b"Sec-Fetch-Site: same-origin\r\nContent-Length: %d\r\n\r\n" % len(body))
                connection.sendall(body[:10])
                time.sleep(1)
                serving.process.send_signal(signal.SIGTERM)
                time.sleep(1)
                self.assertIsNone(serving.process.poll())
                connection.sendall(body[10:])
                answer = read_all(connection)
                self.assertEqual(status_of(answer), 200)
                self.assertIn(b"Connection: close\r\n", answer)
            self.assertEqual(serving.process.wait(20), 0)
            with self.assertRaises(OSError):
                serving.connect()

    def test_who_never_finishes_is_not_waited_for_longer_than_five_seconds(self):
        with Serving() as serving:
            hanging = serving.connect()
            hanging.sendall(b"POST /api/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n"
                            b"Sec-Fetch-Site: same-origin\r\nContent-Length: 100\r\n\r\n{")
            time.sleep(0.3)
            start = time.monotonic()
            self.assertEqual(serving.stop(), 0)
            took = time.monotonic() - start
            self.assertGreater(took, 4)
            self.assertLess(took, 9)
            hanging.close()

    def test_a_session_outlives_a_restart(self):
        with Serving() as serving:
            cookie = set_up(serving)
            self.assertEqual(serving.stop(), 0)
            with Serving(folder=serving.folder) as again:
                connection = again.http()
                connection.request("GET", "/api/me", headers={"Cookie": cookie})
                self.assertEqual(connection.getresponse().status, 200)
                # And nobody is offered to become the first again.
                self.assertEqual(again.stop(), 0)
                self.assertEqual(again.process.stdout.read(), "")


class Starting(unittest.TestCase):
    def refused(self, *options, port=0):
        done = subprocess.run([program, "serve", "--port", str(port), "--store",
                               os.path.join(tempfile.mkdtemp(), "site.db"), *options],
                              capture_output=True, text=True, timeout=30)
        return done.returncode, done.stderr

    def test_passphrases_do_not_travel_in_the_open_unasked(self):
        code, says = self.refused("--bind", "0.0.0.0")
        self.assertEqual(code, 2)
        self.assertIn("--insecure-lan", says)
        with Serving("--bind", "0.0.0.0", "--insecure-lan") as serving:
            self.assertEqual(serving.scheme, "http")
            connection = serving.http()
            connection.request("GET", "/health", headers={"Host": "class.test"})
            self.assertEqual(connection.getresponse().status, 200)
            self.assertEqual(serving.stop(), 0)
            self.assertIn("can be read by anybody", serving.log_text())

    def test_a_further_instructor_is_invited(self):
        with Serving("--invite") as serving:
            set_up(serving)
            self.assertIn("one more instructor", serving.process.stdout.readline())
            token = serving.process.stdout.readline().strip().split("#")[1]
            response, body = post(serving.http(), "/api/setup",
                                  {"token": token, "rater": "otto", "passphrase": PASSPHRASE})
            self.assertEqual((response.status, json.loads(body)["role"]), (201, "instructor"))

    def test_who_leads_and_forgot_the_passphrase_gets_a_code_from_who_starts_the_program(self):
        with tempfile.TemporaryDirectory() as folder:
            with Serving(folder=folder) as serving:
                set_up(serving)
                self.assertEqual(serving.stop(), 0)
            with Serving("--reset", "ines", folder=folder) as serving:
                said = serving.process.stdout.readline()
                self.assertIn("ines can choose a new passphrase", said)
                code = serving.process.stdout.readline().strip()
                chosen = {"rater": "ines", "code": code, "passphrase": "another long way home"}
                response, body = post(serving.http(), "/api/reset", chosen)
                self.assertEqual((response.status, json.loads(body)["role"]), (200, "lead"))
                self.assertEqual(post(serving.http(), "/api/reset", chosen)[0].status, 404, "once")
                old = {"rater": "ines", "passphrase": PASSPHRASE}
                self.assertEqual(post(serving.http(), "/api/sign-in", old)[0].status, 401)
                self.assertEqual(serving.stop(), 0)
                self.assertNotIn(code, serving.log_text())
        code, says = self.refused("--reset", "nobody")
        self.assertEqual(code, 1)
        self.assertIn("--reset nobody: ", says)

    def test_what_cannot_be_served_is_said(self):
        self.assertEqual(self.refused("--bind", "nowhere", "--insecure-lan")[0], 1)
        self.assertEqual(self.refused("--certificate", "x.pem")[0], 2)
        code, says = self.refused("--origin", "https://practice.example.edu/scales")
        self.assertEqual(code, 2)
        self.assertIn("https://practice.example.edu/scales: no origin", says)
        code, says = self.refused("--certificate", "/nonexistent.pem", "--key", "/nonexistent.pem")
        self.assertEqual(code, 1)
        self.assertIn("/nonexistent.pem", says)
        with Serving() as serving:
            code, says = self.refused(port=serving.port)
            self.assertEqual(code, 1)
            self.assertIn(str(serving.port), says)

    def test_the_log_is_json_and_names_nobody(self):
        with Serving() as serving:
            set_up(serving)
            self.assertEqual(serving.stop(), 0)
            lines = [json.loads(line) for line in serving.log_text().splitlines() if line.startswith("{")]
            self.assertEqual([(line["method"], line["route"], line["status"]) for line in lines],
                             [("POST", "/api/setup", 201)])
            self.assertNotIn("ines", serving.log_text())
            self.assertNotIn("127.0.0.1", serving.log_text())


class Tls(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp()
        cls.certificate = os.path.join(cls.folder, "certificate.pem")
        cls.key = os.path.join(cls.folder, "key.pem")
        cls.make("first")

    @classmethod
    def make(cls, name):
        subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes",
                        "-days", "2", "-subj", f"/CN={name}", "-addext",
                        "subjectAltName=DNS:localhost,IP:127.0.0.1", "-keyout", cls.key, "-out", cls.certificate],
                       check=True, capture_output=True)

    def context(self):
        return ssl.create_default_context(cafile=self.certificate)

    def serving(self):
        return Serving("--certificate", self.certificate, "--key", self.key)

    def test_a_browser_that_trusts_the_certificate_is_served(self):
        with self.serving() as serving:
            self.assertEqual(serving.scheme, "https")
            connection = http.client.HTTPSConnection("127.0.0.1", serving.port, timeout=20, context=self.context())
            connection.connect()
            self.assertIn(connection.sock.version(), ("TLSv1.2", "TLSv1.3"))
            for _ in range(5):
                connection.request("GET", "/health")
                response = connection.getresponse()
                self.assertEqual(response.read(), b'{"status":"ok"}')
            self.assertEqual(response.getheader("Strict-Transport-Security"), "max-age=31536000")
            self.assertEqual(serving.stop(), 0)

    def test_old_versions_and_plain_text_are_turned_away(self):
        with self.serving() as serving:
            old = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
            old.check_hostname = False
            old.verify_mode = ssl.CERT_NONE
            old.set_ciphers("ALL:@SECLEVEL=0")
            old.minimum_version = ssl.TLSVersion.TLSv1
            old.maximum_version = ssl.TLSVersion.TLSv1_1
            with self.assertRaises((ssl.SSLError, OSError)):
                old.wrap_socket(serving.connect())
            with serving.connect() as plain:
                plain.sendall(b"GET /health HTTP/1.1\r\nHost: localhost\r\n\r\n")
                self.assertNotIn(b"200 OK", read_all(plain))
            with self.context().wrap_socket(serving.connect(), server_hostname="localhost") as good:
                good.sendall(b"GET /health HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
                self.assertIn(b"200 OK", read_all(good))

    def test_a_handshake_that_never_comes_ends_the_connection(self):
        with self.serving() as serving, serving.connect(30) as silent:
            start = time.monotonic()
            self.assertEqual(read_all(silent), b"")
            self.assertGreater(time.monotonic() - start, 8)
            self.assertLess(time.monotonic() - start, 20)

    def test_a_new_certificate_is_read_on_sighup(self):
        def name(serving):
            connection = ssl._create_unverified_context().wrap_socket(serving.connect())
            with connection:
                text = ssl.DER_cert_to_PEM_cert(connection.getpeercert(True))
            return subprocess.run(["openssl", "x509", "-noout", "-subject"], input=text, text=True,
                                  capture_output=True, check=True).stdout

        with self.serving() as serving:
            self.assertIn("first", name(serving))
            self.make("second")
            serving.process.send_signal(signal.SIGHUP)
            end = time.monotonic() + 10
            while "second" not in name(serving) and time.monotonic() < end:
                time.sleep(0.1)
            self.assertIn("second", name(serving))
            # One that cannot be read leaves the one in force.
            with open(self.certificate, "w") as broken:
                broken.write("nothing")
            serving.process.send_signal(signal.SIGHUP)
            time.sleep(0.5)
            self.assertIn("second", name(serving))
            self.make("first")


class BehindProxy(unittest.TestCase):
    def test_the_address_is_the_one_the_proxy_saw(self):
        with Serving("--behind-proxy", "--origin", "https://practice.example.edu", "--log-peers") as serving:
            connection = serving.http()
            connection.request("GET", "/health", headers={"Host": "practice.example.edu",
                                                          "X-Forwarded-For": "203.0.113.1, 192.0.2.7"})
            response = connection.getresponse()
            response.read()
            self.assertEqual(response.status, 200)
            self.assertIsNotNone(response.getheader("Strict-Transport-Security"))
            connection.request("GET", "/health", headers={"Host": "other.example.edu"})
            self.assertEqual(connection.getresponse().status, 421)
            self.assertEqual(serving.stop(), 0)
            self.assertIn('"peer":"192.0.2.7"', serving.log_text())

    def test_who_comes_past_the_proxy_is_not_answered(self):
        with Serving("--behind-proxy", "--proxy", "192.0.2.1", "--bind", "0.0.0.0", "--origin",
                     "https://practice.example.edu") as serving:
            for path in ("/health", "/sign-in"):
                connection = serving.http()
                connection.request("GET", path, headers={"Host": "practice.example.edu",
                                                         "X-Forwarded-For": "192.0.2.1"})
                self.assertEqual(connection.getresponse().status, 421)


if __name__ == "__main__":
    unittest.main(verbosity=2, warnings="ignore")
