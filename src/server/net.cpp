#include "server/net.hpp"

#include <atomic>
#include <csignal>
#include <map>
#include <mutex>
#include <thread>
#include <unordered_set>
#include <vector>

#include <fmt/chrono.h>
#include <fmt/format.h>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/signal_set.hpp>
#include <boost/asio/ssl.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/strand.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>
#include <boost/beast/ssl.hpp>

#include "server/target.hpp"

namespace evenhand::server {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
namespace ssl = asio::ssl;
using asio::ip::tcp;
using boost::system::error_code;
using Plain = beast::tcp_stream;
using Secure = beast::ssl_stream<beast::tcp_stream>;
using Parser = http::request_parser<http::string_body>;

constexpr std::size_t most_drained = 256 * 1024;
constexpr std::chrono::seconds draining{1};

/// One connection, as others see it. All but the address is touched on its own strand only.
struct Live {
  asio::any_io_executor executor;
  std::string address;
  bool idle = false;  // between requests
  beast::tcp_stream* stream = nullptr;
};

/// While it stands, others may end the connection.
class Watched {
 public:
  Watched(Live& live, beast::tcp_stream& stream) : live_(live) { live_.stream = &stream; }
  Watched(const Watched&) = delete;
  Watched& operator=(const Watched&) = delete;
  ~Watched() { live_.stream = nullptr; }

 private:
  Live& live_;
};

/// One of so many places, from when it is taken as long as it lives.
class Place {
 public:
  Place() = default;
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;
  ~Place() {
    if (taken_ != nullptr) taken_->fetch_sub(1);
  }

  /// Once. False: there is none left.
  bool take(std::atomic<std::size_t>& taken, std::size_t most) {
    if (taken.fetch_add(1) >= most) {
      taken.fetch_sub(1);
      return false;
    }
    taken_ = &taken;
    return true;
  }

 private:
  std::atomic<std::size_t>* taken_ = nullptr;
};

void cancel_if_idle(Live& live) {
  if (live.idle && live.stream != nullptr) live.stream->cancel();
}

/// Who is connected; for all threads.
class Guests {
 public:
  Guests(std::size_t most, std::size_t most_of_one) : most_(most), most_of_one_(most_of_one) {}

  bool enter(const std::shared_ptr<Live>& live) {
    const std::lock_guard lock(mutex_);
    auto& of_address = by_address_[live->address];
    if (all_.size() >= most_ || (most_of_one_ > 0 && of_address >= most_of_one_)) {
      if (of_address == 0) by_address_.erase(live->address);
      return false;
    }
    ++of_address;
    all_.insert(live);
    return true;
  }

  /// Whether it was the last.
  bool leave(const std::shared_ptr<Live>& live) {
    const std::lock_guard lock(mutex_);
    if (all_.erase(live) == 0) return all_.empty();
    const auto of_address = by_address_.find(live->address);
    if (--of_address->second == 0) by_address_.erase(of_address);
    return all_.empty();
  }

  std::vector<std::shared_ptr<Live>> all() const {
    const std::lock_guard lock(mutex_);
    return {all_.begin(), all_.end()};
  }

 private:
  const std::size_t most_, most_of_one_;
  mutable std::mutex mutex_;
  std::unordered_set<std::shared_ptr<Live>> all_;
  std::map<std::string, std::size_t> by_address_;
};

Result<std::shared_ptr<ssl::context>> read_certificate(const Tls& tls) {
  auto context = std::make_shared<ssl::context>(ssl::context::tls_server);
  context->set_options(ssl::context::default_workarounds | ssl::context::no_tlsv1 | ssl::context::no_tlsv1_1 |
                       ssl::context::no_sslv3 | ssl::context::no_compression);
  error_code error;
  static_cast<void>(context->use_certificate_chain_file(tls.certificate, error));
  if (error)
    return fail(Errc::invalid, "{}: no certificate in PEM form: {}", tls.certificate, error.message());
  static_cast<void>(context->use_private_key_file(tls.key, ssl::context::pem, error));
  if (error) return fail(Errc::invalid, "{}: no key for the certificate: {}", tls.key, error.message());
  if (SSL_CTX_check_private_key(context->native_handle()) != 1)
    return fail(Errc::invalid, "{}: not the key of the certificate", tls.key);
  return context;
}

/// An IPv4 address that came through an IPv6 socket is written as what it is.
std::string written(const asio::ip::address& address) {
  if (address.is_v6() && address.to_v6().is_v4_mapped())
    return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6()).to_string();
  return address.to_string();
}

/// As HTTP wants a Date (RFC 9110, section 5.6.7).
std::string http_date() {
  return fmt::format("{:%a, %d %b %Y %H:%M:%S} GMT", fmt::gmtime(std::time(nullptr)));
}

void read_headers(const http::fields& fields, Request& request) {
  for (const auto& field : fields) {
    std::string name(field.name_string());
    for (char& c : name)
      if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    std::string value(field.value());
    auto& known = request.headers[name];
    if (known.empty())
      known = std::move(value);
    else
      known += (name == "cookie" ? "; " : ", ") + value;
  }
}

}  // namespace

struct Net::State {
  State(const Listening& wanted, const tcp::endpoint& endpoint)
      : listening(wanted),
        guests(wanted.limits.connections, wanted.one_peer ? 0 : wanted.limits.connections_per_address),
        control(asio::make_strand(io)),
        acceptor(control),
        signals(control),
        stop_timer(control) {
    acceptor.open(endpoint.protocol());
    acceptor.set_option(asio::socket_base::reuse_address(true));
    acceptor.bind(endpoint);
    acceptor.listen();
  }

  const Listening listening;
  asio::io_context io;
  Guests guests;  // goes before `io`, of which its guests hold executors
  // What is not of one connection happens here, one thing after the other.
  asio::strand<asio::io_context::executor_type> control;
  tcp::acceptor acceptor;
  asio::signal_set signals;
  asio::steady_timer stop_timer;
  std::atomic<bool> stopping = false;
  mutable std::atomic<std::size_t> long_bodies = 0;  // under way
  std::mutex certificate_mutex;
  std::shared_ptr<ssl::context> certificate;
  const Service* service = nullptr;

  std::shared_ptr<ssl::context> current_certificate() {
    const std::lock_guard lock(certificate_mutex);
    return certificate;
  }

  asio::awaitable<Response> ask(std::shared_ptr<Request> request) const;
  template <class Stream>
  asio::awaitable<bool> say(Stream& stream, Response response, bool keep_alive, bool head) const;
  template <class Stream>
  asio::awaitable<void> drain(Stream& stream) const;
  unsigned judge(Parser& parser, Request& request, Place& place) const;
  template <class Stream>
  asio::awaitable<bool> one_request(Stream& stream, beast::flat_buffer& buffer, Live& live) const;
  asio::awaitable<void> talk(tcp::socket socket, std::shared_ptr<Live> live);
  asio::awaitable<void> accept();
  asio::awaitable<void> listen_to_signals();
  void begin_to_stop();
  void left(const std::shared_ptr<Live>& live);
};

/// Asks the service, on whatever thread it answers, and goes on here.
asio::awaitable<Response> Net::State::ask(std::shared_ptr<Request> request) const {
  const auto start = [this, &request](auto handler) {
    const auto executor = asio::get_associated_executor(handler);
    const auto kept = std::make_shared<decltype(handler)>(std::move(handler));
    service->answer(request, [executor, kept](Response response) {
      asio::post(executor, [kept, response = std::move(response)]() mutable {
        auto once = std::move(*kept);
        once(std::move(response));
      });
    });
  };
  co_return co_await asio::async_initiate<const asio::use_awaitable_t<>&, void(Response)>(
      start, asio::use_awaitable);
}

/// False: the connection is no longer good.
template <class Stream>
asio::awaitable<bool> Net::State::say(Stream& stream, Response response, bool keep_alive, bool head) const {
  http::response<http::string_body> message{static_cast<http::status>(response.status), 11};
  message.set(http::field::date, http_date());
  if (!response.type.empty()) message.set(http::field::content_type, response.type);
  for (const auto& [name, value] : response.headers) message.insert(name, value);
  message.keep_alive(keep_alive);
  const bool bodiless = response.status == 204 || response.status == 304;
  if (!bodiless) message.content_length(response.body.size());
  if (!head && !bodiless) message.body() = std::move(response.body);
  beast::get_lowest_layer(stream).expires_after(listening.limits.write);
  error_code error;
  http::response_serializer<http::string_body> serializer{message};
  if (head) {
    co_await http::async_write_header(stream, serializer, asio::redirect_error(asio::use_awaitable, error));
  } else {
    co_await http::async_write(stream, serializer, asio::redirect_error(asio::use_awaitable, error));
  }
  co_return !error;
}

/// Reads on for a moment after a refusal: closing with bytes unread would tear the answer away.
template <class Stream>
asio::awaitable<void> Net::State::drain(Stream& stream) const {
  auto& lowest = beast::get_lowest_layer(stream);
  error_code error;
  lowest.socket().shutdown(tcp::socket::shutdown_send, error);
  lowest.expires_after(draining);
  std::vector<char> away(16 * 1024);
  std::size_t sum = 0;
  while (!error && sum < most_drained)
    sum +=
        co_await lowest.async_read_some(asio::buffer(away), asio::redirect_error(asio::use_awaitable, error));
}

/// Of a header that was read: 0, or the status with which it is refused. `place` is held while the request is
/// long.
unsigned Net::State::judge(Parser& parser, Request& request, Place& place) const {
  if (!read_target(parser.get().target(), request) || parser.get().count(http::field::host) != 1) return 400;
  const auto limit = service->body_limit(request);
  const auto announced = parser.content_length();
  if (announced && *announced > limit) return 413;
  parser.body_limit(limit);
  // A body is read before anybody knows who sends it: some hundred of the longest would fill the memory.
  const bool is_long = announced.value_or(limit) > listening.limits.long_body;
  return is_long && !place.take(long_bodies, listening.limits.long_bodies) ? 503 : 0;
}

/// False: the connection ends.
template <class Stream>
asio::awaitable<bool> Net::State::one_request(Stream& stream, beast::flat_buffer& buffer, Live& live) const {
  auto& lowest = beast::get_lowest_layer(stream);
  Parser parser;
  parser.header_limit(static_cast<std::uint32_t>(listening.limits.header));
  // Known when the header is: until then any announced length is heard.
  parser.body_limit(boost::none);
  lowest.expires_after(listening.limits.idle);
  error_code error;
  live.idle = true;
  co_await http::async_read_header(stream, buffer, parser, asio::redirect_error(asio::use_awaitable, error));
  live.idle = false;

  const auto kept = std::make_shared<Request>();
  Request& request = *kept;
  request.peer = live.address;
  request.came = std::chrono::steady_clock::now();
  if (error) {
    unsigned status = 0;
    if (error == http::error::header_limit || error == http::error::buffer_overflow) status = 431;
    // The rest of this category is bad syntax; a silent or vanished one is told nothing.
    else if (error.category() == make_error_code(http::error::bad_method).category() &&
             error != http::error::end_of_stream && error != http::error::partial_message)
      status = 400;
    if (status == 0) co_return false;
    if (co_await say(stream, service->refuse(request, status), false, false)) co_await drain(stream);
    co_return false;
  }

  const bool head = parser.get().method() == http::verb::head;
  request.method = head ? "GET" : std::string(parser.get().method_string());
  read_headers(parser.get().base(), request);
  Place place;
  unsigned refused = judge(parser, request, place);
  if (refused == 0 && beast::iequals(parser.get()[http::field::expect], "100-continue") &&
      !parser.is_done()) {
    http::response<http::empty_body> go_on{http::status::continue_, 11};
    lowest.expires_after(listening.limits.write);
    co_await http::async_write(stream, go_on, asio::redirect_error(asio::use_awaitable, error));
    if (error) co_return false;
  }
  if (refused == 0) {
    lowest.expires_after(listening.limits.body);
    co_await http::async_read(stream, buffer, parser, asio::redirect_error(asio::use_awaitable, error));
    if (error == http::error::body_limit)
      refused = 413;
    else if (error && error.category() == make_error_code(http::error::bad_method).category())
      refused = 400;
    else if (error)
      co_return false;
  }
  if (refused != 0) {
    lowest.expires_never();
    if (co_await say(stream, service->refuse(request, refused), false, head)) co_await drain(stream);
    co_return false;
  }

  request.body = std::move(parser.get().body());
  const bool wants_more = parser.get().keep_alive();
  lowest.expires_never();
  auto response = co_await ask(kept);
  response = service->finish(request, std::move(response));
  const bool more = wants_more && !stopping;
  co_return co_await say(stream, std::move(response), more, head) && more;
}

asio::awaitable<void> Net::State::talk(tcp::socket socket, std::shared_ptr<Live> live) {
  error_code error;
  static_cast<void>(socket.set_option(tcp::no_delay(true), error));  // without it answers only come later
  beast::flat_buffer buffer(listening.limits.header + 64 * 1024);
  if (!listening.tls) {
    Plain stream(std::move(socket));
    const Watched watched(*live, stream);
    while (!stopping && co_await one_request(stream, buffer, *live)) {
    }
    static_cast<void>(stream.socket().shutdown(tcp::socket::shutdown_send, error));  // the guest may be gone
    co_return;
  }
  const auto context = current_certificate();
  Secure stream(std::move(socket), *context);
  auto& lowest = beast::get_lowest_layer(stream);
  const Watched watched(*live, lowest);
  lowest.expires_after(listening.limits.handshake);
  co_await stream.async_handshake(ssl::stream_base::server, asio::redirect_error(asio::use_awaitable, error));
  if (error) co_return;
  while (!stopping && co_await one_request(stream, buffer, *live)) {
  }
  lowest.expires_after(draining);
  co_await stream.async_shutdown(asio::redirect_error(asio::use_awaitable, error));
}

void Net::State::left(const std::shared_ptr<Live>& live) {
  if (!guests.leave(live) || !stopping) return;
  asio::post(control, [this] {
    if (guests.all().empty()) stop_timer.cancel();
  });
}

asio::awaitable<void> Net::State::accept() {
  while (!stopping) {
    error_code error;
    const auto strand = asio::make_strand(io);
    tcp::socket socket =
        co_await acceptor.async_accept(strand, asio::redirect_error(asio::use_awaitable, error));
    if (stopping) break;
    if (error) {
      // Out of files, most likely: others will leave.
      asio::steady_timer wait(acceptor.get_executor(), std::chrono::milliseconds(100));
      co_await wait.async_wait(asio::redirect_error(asio::use_awaitable, error));
      continue;
    }
    const auto peer = socket.remote_endpoint(error);
    if (error) continue;
    auto live = std::make_shared<Live>();
    live->executor = strand;
    live->address = written(peer.address());
    if (!guests.enter(live)) continue;
    asio::co_spawn(strand, talk(std::move(socket), live),
                   [this, live](const std::exception_ptr&) { left(live); });
  }
}

asio::awaitable<void> Net::State::listen_to_signals() {
  while (!stopping) {
    error_code error;
    const int signal = co_await signals.async_wait(asio::redirect_error(asio::use_awaitable, error));
    if (error) co_return;
    if (signal != SIGHUP) {
      begin_to_stop();
    } else if (listening.tls) {
      // A certificate that cannot be read leaves the one in force.
      if (auto anew = read_certificate(*listening.tls)) {
        const std::lock_guard lock(certificate_mutex);
        certificate = std::move(*anew);
      }
    }
  }
}

void Net::State::begin_to_stop() {
  if (stopping.exchange(true)) return;
  asio::post(control, [this] {
    error_code error;
    static_cast<void>(acceptor.close(error));
    static_cast<void>(signals.cancel(error));
    const auto all = guests.all();
    for (const auto& live : all) asio::post(live->executor, [live] { cancel_if_idle(*live); });
    if (all.empty()) return;
    // Also keeps `run` going while the last answers are made elsewhere.
    stop_timer.expires_after(listening.limits.stop);
    stop_timer.async_wait([this](const error_code& cancelled) {
      if (!cancelled) io.stop();
    });
  });
}

Result<Net> Net::listen(const Listening& listening) {
  error_code error;
  const auto address = asio::ip::make_address(listening.address, error);
  if (error) return fail(Errc::invalid, "{}: no address such as 127.0.0.1 or ::", listening.address);
  std::unique_ptr<State> state;
  try {
    state = std::make_unique<State>(listening, tcp::endpoint(address, listening.port));
  } catch (const boost::system::system_error& failed) {
    return fail(Errc::conflict, "{} port {}: {}", listening.address, listening.port, failed.code().message());
  }
  if (listening.tls) {
    auto certificate = read_certificate(*listening.tls);
    if (!certificate) return tl::unexpected(certificate.error());
    state->certificate = std::move(*certificate);
  }
  return Net(std::move(state));
}

Net::Net(std::unique_ptr<State> state) : state_(std::move(state)) {}
Net::Net(Net&&) noexcept = default;
Net& Net::operator=(Net&&) noexcept = default;
Net::~Net() = default;

std::uint16_t Net::port() const { return state_->acceptor.local_endpoint().port(); }

void Net::obey_signals() {
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) state_->signals.add(signal);
  asio::co_spawn(state_->control, state_->listen_to_signals(), asio::detached);
}

void Net::run(const Service& service, unsigned threads) {
  state_->service = &service;
  asio::co_spawn(state_->control, state_->accept(), asio::detached);
  std::vector<std::thread> others;
  for (unsigned i = 1; i < threads; ++i) others.emplace_back([this] { state_->io.run(); });
  state_->io.run();
  for (auto& thread : others) thread.join();
}

void Net::stop() { state_->begin_to_stop(); }

}  // namespace evenhand::server
