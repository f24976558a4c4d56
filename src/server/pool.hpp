#pragma once

#include <condition_variable>
#include <cstddef>
#include <deque>
#include <functional>
#include <mutex>
#include <thread>
#include <vector>

namespace evenhand::server {

/// A few threads for long arithmetic, and a queue with an end: what does not fit is refused, not piled up.
class Pool {
 public:
  Pool(std::size_t threads, std::size_t most_waiting);
  Pool(const Pool&) = delete;
  Pool& operator=(const Pool&) = delete;
  ~Pool() { end(); }

  /// Does what waits, and takes nothing from then on.
  void end();

  /// False: too many wait. `work` must not throw.
  bool put(std::function<void()> work);

 private:
  void run();

  const std::size_t most_waiting_;
  std::mutex mutex_;
  std::condition_variable something_;
  std::deque<std::function<void()>> waiting_;
  bool ending_ = false;
  std::vector<std::thread> threads_;
};

}  // namespace evenhand::server
