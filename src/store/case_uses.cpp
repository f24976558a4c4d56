#include "store/case_uses.hpp"

#include "store/db.hpp"

namespace evenhand::store {

bool is_held_against(Store& store, const CaseId& the_case, base::Time keyed_since) {
  return store.db().read([&] {
    Run run(store.db(),
            "SELECT EXISTS (SELECT 1 FROM score WHERE case_id = ?1) OR EXISTS (SELECT 1 FROM answer a JOIN "
            "sitting s "
            "ON s.number = a.sitting WHERE a.case_id = ?1 AND (s.mode <> 'practice' OR a.answered_at >= ?2))",
            the_case.text(), keyed_since);
    run.next();
    return run.number(0) == 1;
  });
}

}  // namespace evenhand::store
