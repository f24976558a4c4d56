#include "base/parallel.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace evenhand::base {

std::size_t hardware_threads() { return std::max<std::size_t>(1, std::thread::hardware_concurrency()); }

void in_parallel(std::size_t n, std::size_t threads, const std::function<void(std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  std::exception_ptr failed;
  std::mutex failing;
  const auto take = [&] {
    for (std::size_t i = next.fetch_add(1); i < n; i = next.fetch_add(1)) {
      try {
        work(i);
      } catch (...) {
        const std::lock_guard lock(failing);
        if (!failed) failed = std::current_exception();
        next.store(n);
      }
    }
  };
  {
    std::vector<std::jthread> others;
    for (std::size_t t = 1; t < std::min(threads, n); ++t) others.emplace_back(take);
    take();
  }
  if (failed) std::rethrow_exception(failed);
}

}  // namespace evenhand::base
