// What answers requests that ask who somebody is: one function an address, named in the table of
// routes.cpp. Each answers exactly once, within the call or later.
#pragma once

#include "web/exchange.h"
#include "web/gate.h"

namespace clutchward {

struct Site;

void get_front(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void get_cabinet_page(Site& site, const Request& request, const Visitor& visitor,
                      const Respond& respond);
void get_history(Site& site, const Request& request, const Visitor& visitor,
                 const Respond& respond);
void get_rules(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void get_batches_page(Site& site, const Request& request, const Visitor& visitor,
                      const Respond& respond);
void get_batch_page(Site& site, const Request& request, const Visitor& visitor,
                    const Respond& respond);
void get_card(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void get_report(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void get_report_json(Site& site, const Request& request, const Visitor& visitor,
                     const Respond& respond);
void get_report_csv(Site& site, const Request& request, const Visitor& visitor,
                    const Respond& respond);
void get_compare(Site& site, const Request& request, const Visitor& visitor,
                 const Respond& respond);
void get_compare_json(Site& site, const Request& request, const Visitor& visitor,
                      const Respond& respond);
void get_happened(Site& site, const Request& request, const Visitor& visitor,
                  const Respond& respond);
void get_past_events(Site& site, const Request& request, const Visitor& visitor,
                     const Respond& respond);
void get_wakes(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void get_events(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void post_deed(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void post_command(Site& site, const Request& request, const Visitor& visitor,
                  const Respond& respond);

void get_asset(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void get_login(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void post_login(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void post_logout(Site& site, const Request& request, const Visitor& visitor,
                 const Respond& respond);

void get_link(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);
void post_link(Site& site, const Request& request, const Visitor& visitor, const Respond& respond);

}  // namespace clutchward
