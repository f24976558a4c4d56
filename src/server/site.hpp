#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>

#include "base/time.hpp"
#include "cases/library.hpp"
#include "server/accounts.hpp"
#include "server/assets.hpp"
#include "server/desk.hpp"
#include "server/guard.hpp"
#include "server/pages.hpp"
#include "server/pool.hpp"
#include "server/router.hpp"
#include "store/store.hpp"

namespace evenhand::server {

struct SiteSettings {
  Reach reach{};
  bool log_peers = false;  ///< addresses of browsers in the log
  std::function<base::Time()> clock;
  std::function<void(const std::string&)> log;  ///< one line at a time, from any thread
  std::size_t most_waiting = 4096;              ///< requests before the store
  std::size_t most_computing =
      512;  ///< before the two threads for long arithmetic, those of staff and of all others
  /// The department's files that the library was read from; what it wrote on the site is laid over them.
  std::vector<cases::SourceFile> department{};
};

/// The practice site without its socket: every request's way from the router to the store and back. The
/// library is the one given, unless the store holds texts of the department's own: then it is read anew, with
/// them.
class Site {
 public:
  Site(SiteSettings settings, store::Store store, const cases::Library& library, const Assets& assets);
  Site(const Site&) = delete;
  Site& operator=(const Site&) = delete;
  /// Answers what waits first.
  ~Site();

  /// How many bytes of body the request may bring: its path and method are known, its body is not.
  std::size_t body_limit(const Request& request) const;

  /// `done` is called once, here or on another thread.
  void answer(const std::shared_ptr<Request>& request, const std::function<void(Response)>& done);

  /// The answer as it is sent: with the headers that all have, compressed, as a page for who sees pages, and
  /// a line in the log.
  Response finish(const Request& request, Response response);

  /// Where a request could not be read: finished already.
  Response refuse(const Request& request, unsigned status);

  const std::vector<Route>& routes() const { return router_.routes(); }

 private:
  using Done = std::function<void(Response)>;
  using Deed = std::function<Outcome(Visit&)>;
  void visit(const std::shared_ptr<Request>& request, const Route& route, Deed deed, const Done& done);
  Outcome visit_now(const std::shared_ptr<Request>& request, const Route& route, const Deed& deed,
                    store::Store& store);
  void forget_next_library();
  void tidy(base::Time now);
  void clear_log(store::Store& store);
  std::shared_ptr<const cases::Library> library_with_texts(store::Store& store,
                                                           const cases::Library& given) const;
  void go_on(const std::shared_ptr<Request>& request, const Route& route, Outcome outcome, const Done& done);
  Response failure(const Request& request, const std::exception_ptr& failed) const;
  void note(const Request& request, const Response& response) const;

  const SiteSettings settings_;
  std::shared_ptr<const cases::Library> library_;  // of the desk's thread, like the next one
  std::shared_ptr<const cases::Library> next_library_{};
  std::shared_ptr<Request> next_library_by_{};  // who put it in force in the batch under way
  const Assets assets_;
  const WebFiles files_;
  Accounts accounts_;
  const Router router_;
  base::Random random_;      // of the desk's thread
  base::Time tidied_{};      // of the desk's thread
  bool log_is_due_ = false;  // to be cleared; of the desk's thread
  Pool pool_;                // of everybody: passphrases above all
  Pool staff_pool_;  // what is worked out for staff (results, previews): nobody's sign-in waits for it
  Desk desk_;
};

}  // namespace evenhand::server
