"""iCalendar: what a calendar shows of a plan, and the bytes it is sent as (RFC 5545, 7986, 9074, 9253)."""
