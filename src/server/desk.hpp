#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <exception>
#include <functional>
#include <mutex>
#include <thread>
#include <variant>

#include "server/route.hpp"
#include "store/store.hpp"

namespace evenhand::server {

/// What came of a visit to the store.
using Outcome = std::variant<Response, Arithmetic>;

/// One visit to the store. Both functions are called on the desk's thread.
struct Errand {
  std::function<Outcome(store::Store&)> visit;
  /// Once what the visit wrote is on the disk; or with what went wrong, and then nothing was written.
  std::function<void(Outcome)> done;
  std::function<Outcome(const std::exception_ptr&)> failed;
};

/// The one thread that owns the store. It takes every errand that waits, runs them one after the other in one
/// transaction (an errand that ends in a refusal or an exception is undone alone), commits, and only then
/// says what came of them: many answers for one write to the disk, and none that is not on it.
class Desk {
 public:
  /// `after`: what is done after each batch that is on the disk, outside its transaction and before anybody
  /// is told. It must not throw.
  Desk(store::Store store, std::size_t most_waiting, std::function<void(store::Store&)> after = {});
  Desk(const Desk&) = delete;
  Desk& operator=(const Desk&) = delete;
  ~Desk() { end(); }

  /// Does what waits, and takes nothing from then on.
  void end();

  /// False: too many wait.
  bool put(Errand errand);

 private:
  void run();
  void serve(std::deque<Errand>& batch);

  store::Store store_;
  const std::size_t most_waiting_;
  const std::function<void(store::Store&)> after_;
  std::mutex mutex_;
  std::condition_variable something_;
  std::deque<Errand> waiting_;
  bool ending_ = false;
  std::thread thread_;
};

}  // namespace evenhand::server
