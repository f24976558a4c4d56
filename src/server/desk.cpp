#include "server/desk.hpp"

#include <algorithm>
#include <iterator>
#include <utility>
#include <vector>

namespace evenhand::server {
namespace {

// More would let the first of a batch wait for the last.
constexpr std::size_t largest_batch = 256;

bool keeps(const Outcome& outcome) {
  const auto* response = std::get_if<Response>(&outcome);
  return response == nullptr || response->status < 400;
}

Outcome visit(store::Store& store, const Errand& errand) {
  try {
    Outcome outcome;
    store.all_or_nothing([&] {
      outcome = errand.visit(store);
      return keeps(outcome);
    });
    return outcome;
  } catch (...) {
    return errand.failed(std::current_exception());
  }
}

}  // namespace

Desk::Desk(store::Store store, std::size_t most_waiting, std::function<void(store::Store&)> after)
    : store_(std::move(store)),
      most_waiting_(most_waiting),
      after_(std::move(after)),
      thread_([this] { run(); }) {}

void Desk::end() {
  {
    const std::lock_guard lock(mutex_);
    ending_ = true;
  }
  something_.notify_all();
  if (thread_.joinable()) thread_.join();
}

bool Desk::put(Errand errand) {
  {
    const std::lock_guard lock(mutex_);
    if (ending_ || waiting_.size() >= most_waiting_) return false;
    waiting_.push_back(std::move(errand));
  }
  something_.notify_one();
  return true;
}

void Desk::run() {
  while (true) {
    std::deque<Errand> batch;
    {
      std::unique_lock lock(mutex_);
      something_.wait(lock, [this] { return ending_ || !waiting_.empty(); });
      if (waiting_.empty()) return;
      const auto end =
          waiting_.begin() + static_cast<std::ptrdiff_t>(std::min(waiting_.size(), largest_batch));
      std::move(waiting_.begin(), end, std::back_inserter(batch));
      waiting_.erase(waiting_.begin(), end);
    }
    serve(batch);
  }
}

void Desk::serve(std::deque<Errand>& batch) {
  std::vector<Outcome> outcomes;
  std::exception_ptr failure;
  try {
    store_.together([&] {
      for (const auto& errand : batch) outcomes.push_back(visit(store_, errand));
    });
  } catch (...) {
    failure = std::current_exception();
  }
  if (!failure && after_) after_(store_);
  for (std::size_t i = 0; i < batch.size(); ++i)
    batch[i].done(failure ? batch[i].failed(failure) : std::move(outcomes[i]));
}

}  // namespace evenhand::server
