#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "base/error.hpp"
#include "server/http.hpp"

namespace evenhand::server {

/// What one connection may take, and all of them together.
struct NetLimits {
  std::size_t header = 16 * 1024;     ///< bytes
  std::size_t long_body = 64 * 1024;  ///< bytes; of longer ones so many are read at once
  std::size_t long_bodies = 32;
  std::size_t connections = 2000;
  std::size_t connections_per_address = 800;  ///< a class shares one address, at up to 6 for each browser
  std::chrono::milliseconds idle{30'000};     ///< until a request's header is in, waiting for one included
  std::chrono::milliseconds handshake{10'000};
  std::chrono::milliseconds body{30'000};
  std::chrono::milliseconds write{30'000};
  std::chrono::milliseconds stop{5'000};  ///< to finish what is under way
};

/// PEM files: the certificate with its chain, and its key.
struct Tls {
  std::string certificate;
  std::string key;
};

struct Listening {
  std::string address = "127.0.0.1";
  std::uint16_t port = 0;  ///< 0: a free one
  std::optional<Tls> tls{};
  bool one_peer = false;  ///< everybody comes through a proxy: no limit by address
  NetLimits limits{};
};

/// Who answers. All of it is called on threads of Net.
struct Service {
  /// Asked when a request's header is in: how many bytes of body it may bring.
  std::function<std::size_t(const Request&)> body_limit;
  /// `done` is called once, on any thread.
  std::function<void(const std::shared_ptr<Request>&, std::function<void(Response)> done)> answer;
  /// What is left to do with an answer before it is sent.
  std::function<Response(const Request&, Response)> finish;
  /// What is said where a request was not even read: 400, 413, 431, 503. `request` is as far as it was read.
  std::function<Response(const Request& request, unsigned status)> refuse;
};

/// HTTP/1.1 on a socket, with or without TLS.
class Net {
 public:
  /// Errors: invalid   no address, or certificate and key cannot be used
  ///         conflict  the port is taken
  static Result<Net> listen(const Listening& listening);

  Net(Net&&) noexcept;
  Net& operator=(Net&&) noexcept;
  ~Net();

  std::uint16_t port() const;

  /// Serves until `stop`. What `service` refers to must live until this returns; its `done` functions may be
  /// called later, but not after this object is gone.
  void run(const Service& service, unsigned threads = 2);

  /// SIGINT and SIGTERM stop, SIGHUP reads certificate and key anew. Call it before `run`.
  void obey_signals();

  /// Takes no more connections, ends idle ones, finishes what is under way. From any thread.
  void stop();

 private:
  struct State;
  explicit Net(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace evenhand::server
