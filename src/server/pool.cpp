#include "server/pool.hpp"

#include <utility>

namespace evenhand::server {

Pool::Pool(std::size_t threads, std::size_t most_waiting) : most_waiting_(most_waiting) {
  for (std::size_t i = 0; i < threads; ++i) threads_.emplace_back([this] { run(); });
}

void Pool::end() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  something_.notify_all();
  for (auto& thread : threads_)
    if (thread.joinable()) thread.join();
}

bool Pool::put(std::function<void()> work) {
  {
    const std::lock_guard lock(mutex_);
    if (ending_ || waiting_.size() >= most_waiting_) return false;
    waiting_.push_back(std::move(work));
  }
  something_.notify_one();
  return true;
}

void Pool::run() {
  while (true) {
    std::unique_lock lock(mutex_);
    something_.wait(lock, [this] { return ending_ || !waiting_.empty(); });
    if (waiting_.empty()) return;
    const auto work = std::move(waiting_.front());
    waiting_.pop_front();
    lock.unlock();
    work();
  }
}

}  // namespace evenhand::server
