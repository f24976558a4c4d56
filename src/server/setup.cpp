#include "server/setup.hpp"

#include <chrono>
#include <utility>

#include "server/secrets.hpp"
#include "store/accounts.hpp"
#include "store/tickets.hpp"

namespace evenhand::server {

namespace {

constexpr std::chrono::hours token_span{24};

Result<std::string> new_ticket(store::Store& store, store::Purpose purpose, base::Time now) {
  auto token = new_token();
  const auto kept = store::add_ticket(
      store, {.hash = token_hash(token), .purpose = purpose, .made = now, .until = now + token_span});
  if (!kept) return tl::unexpected(kept.error());
  return token;
}

}  // namespace

Result<std::optional<std::string>> setup_token(store::Store& store, base::Time now) {
  const auto counts = store::count_accounts(store);
  if (counts.instructors + counts.leads > 0) return std::nullopt;
  auto token = new_ticket(store, store::Purpose::setup, now);
  if (!token) return tl::unexpected(token.error());
  return std::move(*token);
}

Result<std::string> invitation_token(store::Store& store, base::Time now) {
  return new_ticket(store, store::Purpose::staff, now);
}

Result<std::string> passphrase_code(store::Store& store, const RaterId& rater, base::Time now) {
  auto code = new_code();
  const auto kept = store::add_ticket(store, {.hash = code_hash(code, rater.text()),
                                              .purpose = store::Purpose::reset,
                                              .rater = rater,
                                              .made = now,
                                              .until = now + token_span});
  if (!kept) return tl::unexpected(kept.error());
  return code;
}

Service service_of(Site& site) {
  return {
      .body_limit = [&site](const Request& request) { return site.body_limit(request); },
      .answer = [&site](const std::shared_ptr<Request>& request,
                        const std::function<void(Response)>& done) { site.answer(request, done); },
      .finish = [&site](const Request& request,
                        Response response) { return site.finish(request, std::move(response)); },
      .refuse = [&site](const Request& request, unsigned status) { return site.refuse(request, status); }};
}

}  // namespace evenhand::server
